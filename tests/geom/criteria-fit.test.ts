import { readFileSync } from 'node:fs';
import {
  type Criterion,
  cylindricity,
  type Feature,
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSphere,
  flatness,
  type Plane,
  roundness,
  seededRandom,
  straightness,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { crossOf, distanceTo, dotOf, extremeDistances, minus, pointOf } from './criteria-contacts.js';

const reference = JSON.parse(readFileSync(new URL('../fixtures/reference-fits.json', import.meta.url), 'utf8'));
const caseOf = (name: string) => {
  const { points, expected } = reference.cases.find((c: { name: string }) => c.name === name);
  return { positions: Float64Array.from(points.flat()), expected };
};
const level: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };

function bore(n: number, noise = 0.05, length = 50): Float64Array {
  const random = seededRandom(1);
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) {
    const t = 2 * Math.PI * random.next();
    const r = 20 + noise * random.normal();
    positions.set([r * Math.cos(t), r * Math.sin(t), length * random.next()], 3 * i);
  }
  return positions;
}

function face(n: number): Float64Array {
  const random = seededRandom(2);
  return Float64Array.from({ length: 3 * n }, (_, k) => (k % 3 === 2 ? 0.05 : 30) * random.normal());
}

describe('the constructed cases, with nothing but the points', () => {
  test('flatness: a plane by minimum zone', () => {
    const { positions, expected } = caseOf('flatness-contacts');
    const fit = fitPlane({ positions }, { criterion: 'minimum-zone' });
    expect(Math.abs(fit.form - expected.form)).toBeLessThan(1e-11);
    expect(Math.hypot(...crossOf(fit.feature.normal, expected.normal))).toBeLessThan(1e-12);
    expect(Math.abs(dotOf(minus(fit.feature.point, expected.point), expected.normal))).toBeLessThan(1e-11);
    expect(fit.converged).toBe(true);
  });

  test.each<[string, Criterion]>([
    ['ring-minimum-zone', 'minimum-zone'],
    ['ring-maximum-inscribed', 'maximum-inscribed'],
    ['ring-minimum-circumscribed', 'minimum-circumscribed'],
  ])('%s', (name, criterion) => {
    const { positions, expected } = caseOf(name);
    const fit = fitCircle({ positions }, { plane: level, criterion });
    expect(Math.hypot(...minus(fit.feature.center, expected.center))).toBeLessThan(1e-11);
    expect(Math.abs(fit.feature.radius - expected.radius)).toBeLessThan(1e-11);
    if (expected.form) expect(Math.abs(fit.form - expected.form)).toBeLessThan(1e-11);
    expect(fit.criterion).toBe(criterion);
  });
});

test('what every fit by extremes says: its zone, residuals within it, contacts at its bounds, what was trimmed', () => {
  const cylinder = bore(3000);
  const plane = face(3000);
  const options = { criterion: 'minimum-zone', trim: 0.01 } as const;
  const fits: [Fit<Feature>, Float64Array][] = [
    [fitPlane({ positions: plane }, options), plane],
    [fitCircle({ positions: cylinder }, { ...options, plane: level }), cylinder],
    [fitSphere({ positions: ball(3000) }, options), ball(3000)],
    [fitCylinder({ positions: cylinder }, options), cylinder],
  ];
  for (const [fit, positions] of fits) {
    expect(fit.criterion).toBe('minimum-zone');
    expect(fit.trim).toBe(0.01);
    expect(fit.trimmed).toHaveLength(30);
    expect(fit.count).toBe(2970);
    expect(fit.used).toHaveLength(2970);
    expect(new Set([...fit.used, ...fit.trimmed!]).size).toBe(3000);
    const [low, high] = [Math.min(...fit.residuals), Math.max(...fit.residuals)];
    expect(low).toBeCloseTo(-fit.form / 2, 11);
    expect(high).toBeCloseTo(fit.form / 2, 11);
    const radius = 'radius' in fit.feature ? fit.feature.radius : 0;
    for (const { index, side } of fit.contacts!) {
      expect(fit.used).toContain(index);
      expect(distanceTo(fit.feature, pointOf(positions, index)) - radius).toBeCloseTo((side * fit.form) / 2, 11);
    }
    expect(fit.optimality!.gap).toBeLessThan(1e-11);
    expect(fit.converged).toBe(true);
  }
});

function ball(n: number): Float64Array {
  const random = seededRandom(3);
  return Float64Array.from(
    Array.from({ length: n }, () => {
      const d = [random.normal(), random.normal(), random.normal()];
      const r = (10 + 0.05 * random.normal()) / Math.hypot(...d);
      return d.map((c) => c * r);
    }).flat(),
  );
}

test('a pin and a ring touch with residual zero, all other points on one side', () => {
  const positions = bore(3000);
  for (const fit of [
    fitCylinder({ positions }, { criterion: 'maximum-inscribed' }),
    fitCircle({ positions }, { plane: level, criterion: 'maximum-inscribed' }),
  ])
    expect(Math.min(...fit.residuals)).toBeCloseTo(0, 11);
  for (const fit of [
    fitCylinder({ positions }, { criterion: 'minimum-circumscribed' }),
    fitCircle({ positions }, { plane: level, criterion: 'minimum-circumscribed' }),
  ])
    expect(Math.max(...fit.residuals)).toBeCloseTo(0, 11);
});

test('a pin is never larger, a ring never smaller, than the least-squares cylinder', () => {
  const positions = bore(3000);
  const [pin, least, ring] = (['maximum-inscribed', 'least-squares', 'minimum-circumscribed'] as const).map(
    (criterion) => fitCylinder({ positions }, { criterion }).feature.radius,
  );
  expect(pin).toBeLessThan(least);
  expect(ring).toBeGreaterThan(least);
});

test('a circle in space is sought in the plane of the least-squares circle', () => {
  const positions = bore(2000, 0.05, 0.2);
  const least = fitCircle({ positions });
  const zone = fitCircle({ positions }, { criterion: 'minimum-zone' });
  expect(Math.hypot(...crossOf(zone.feature.normal, least.feature.normal))).toBeLessThan(1e-12);
  const { center, normal } = least.feature;
  const given = fitCircle(
    { positions },
    { criterion: 'minimum-zone', plane: { kind: 'plane', point: center, normal } },
  );
  expect(zone.form).toBeCloseTo(given.form, 12);
});

test('with a direction given a cylinder is the circle of the points seen along it', () => {
  const positions = bore(2000);
  for (const criterion of ['minimum-zone', 'maximum-inscribed', 'minimum-circumscribed'] as const) {
    const fit = fitCylinder({ positions }, { criterion, known: { direction: [0, 0, 1] } });
    const circle = fitCircle({ positions }, { criterion, plane: level });
    expect(fit.feature.direction).toEqual([0, 0, 1]);
    expect(fit.feature.radius).toBeCloseTo(circle.feature.radius, 11);
    expect(fit.optimality!.scope).toBe('global');
  }
});

test('a line in space: the zone is a cylinder, and its diameter the straightness', () => {
  const random = seededRandom(4);
  const positions = Float64Array.from({ length: 600 }, (_, k) =>
    k % 3 === 0 ? 40 * random.next() : 0.05 * random.normal(),
  );
  const fit = fitLine({ positions }, { criterion: 'minimum-zone' });
  expect(fit.form).toBeCloseTo(2 * extremeDistances(fit.feature, positions).high, 12);
  expect(fit.form).toBeLessThan(fitLine({ positions }).form);
  const inSpace = straightness({ positions });
  expect(inSpace.value).toBe(fit.form);
  const inPlane = straightness({ positions }, { plane: level });
  expect(inPlane.value).toBeLessThan(inSpace.value);
  expect(inPlane.contacts).toHaveLength(3);
});

test('indices are those of the scan, through a selection, rejection and trimming', () => {
  const positions = face(2000);
  for (let i = 0; i < 40; i++) positions[3 * i + 2] += 5;
  const select = Uint32Array.from({ length: 1000 }, (_, i) => 2 * i);
  const fit = fitPlane({ positions, select }, { criterion: 'minimum-zone', reject: 4, trim: 0.01 });
  expect([...fit.rejected]).toEqual(expect.arrayContaining(Array.from({ length: 20 }, (_, i) => 2 * i)));
  const all = [...fit.used, ...fit.rejected, ...fit.trimmed!].sort((a, b) => a - b);
  expect(all).toEqual([...select]);
  for (const { index, side } of fit.contacts!)
    expect(distanceTo(fit.feature, pointOf(positions, index))).toBeCloseTo((side * fit.form) / 2, 12);
});

test('form by the standard that defines it, never more than the peak to valley about the least-squares feature', () => {
  const cylinder = bore(3000);
  const plane = face(3000);
  const forms = [
    {
      form: flatness({ positions: plane }),
      name: 'flatness',
      standard: 'ISO 12781-1',
      least: fitPlane({ positions: plane }),
    },
    {
      form: roundness({ positions: cylinder }, { plane: level }),
      name: 'roundness',
      standard: 'ISO 12181-1',
      least: fitCircle({ positions: cylinder }, { plane: level }),
    },
    {
      form: cylindricity({ positions: cylinder }),
      name: 'cylindricity',
      standard: 'ISO 12180-1',
      least: fitCylinder({ positions: cylinder }),
    },
  ];
  for (const { form, name, standard, least } of forms) {
    expect(form).toMatchObject({ characteristic: name, standard, trim: 0, count: 3000 });
    expect(form.value).toBeLessThan(least.form);
    expect(form.value).toBeGreaterThan(0.8 * least.form);
  }
  expect(straightness({ positions: plane }).standard).toBe('ISO 12780-1');
  expect(flatness({ positions: plane }, { trim: 0.01 }).value).toBeLessThan(flatness({ positions: plane }).value);
});

test('a criterion a shape has not, trim without one, or a radius beside one is refused in words', () => {
  const positions = bore(100);
  expect(() => fitPlane({ positions }, { criterion: 'maximum-inscribed' })).toThrow(
    'A plane cannot be fitted by maximum-inscribed. Fit a plane by least-squares or minimum-zone.',
  );
  expect(() => fitCone({ positions }, { criterion: 'minimum-zone' })).toThrow(
    'A cone cannot be fitted by minimum-zone. Fit a cone by least-squares.',
  );
  expect(() => fitPlane({ positions }, { trim: 0.1 })).toThrow(/trim is for criteria that touch extreme points/);
  expect(() => fitCylinder({ positions }, { criterion: 'minimum-zone', known: { radius: 20 } })).toThrow(
    /A known radius cannot stand beside minimum-zone/,
  );
  expect(() => fitPlane({ positions }, { criterion: 'least-circles' as Criterion })).toThrow(
    'There is no criterion least-circles. Fit a plane by least-squares or minimum-zone.',
  );
  expect(() => fitPlane({ positions }, { criterion: 'minimum-zone', trim: 0.7 })).toThrow(/from 0 to below 0.5/);
});

test('stated 95 % intervals of the center hold the truth about as often, by all three criteria', () => {
  const random = seededRandom(5);
  const trials = 40;
  for (const criterion of ['minimum-zone', 'maximum-inscribed', 'minimum-circumscribed'] as const) {
    let held = 0;
    for (let trial = 0; trial < trials; trial++) {
      const positions = new Float64Array(1500);
      for (let i = 0; i < 500; i++) {
        const t = 2 * Math.PI * random.next();
        const r = 20 + 0.05 * random.normal();
        positions.set([r * Math.cos(t), r * Math.sin(t), 0], 3 * i);
      }
      const { feature, uncertainty } = fitCircle({ positions }, { plane: level, criterion });
      for (const k of [0, 1]) if (Math.abs(feature.center[k]) < 2 * Math.sqrt(uncertainty.covariance[7 * k])) held++;
    }
    // 80 looks, two by two dependent: 95 % less four standard errors.
    expect(held / (2 * trials)).toBeGreaterThan(0.85);
  }
});
