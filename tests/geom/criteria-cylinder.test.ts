import {
  type Association,
  type CriterionOptions,
  type Cylinder,
  maximumInscribedCylinder,
  minimumCircumscribedCylinder,
  minimumZoneCylinder,
  type Points,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import {
  axisRow,
  constructed,
  contactError,
  crossOf,
  dotOf,
  extremeDistances,
  imbalance,
  minus,
  pointOf,
  type Touched,
  unit,
} from './criteria-contacts.js';

type Fit = (points: Points, options: CriterionOptions<Cylinder>) => Association<Cylinder>;
const fits: [Touched, Fit, number][] = [
  ['both', minimumZoneCylinder, 6],
  ['inside', maximumInscribedCylinder, 5],
  ['outside', minimumCircumscribedCylinder, 5],
];

const shift = (a: Vec3, by: number, random: ReturnType<typeof seededRandom>): Vec3 =>
  a.map((c) => c + by * random.normal()) as unknown as Vec3;

describe.each(fits)('contacts on %s', (touched, fit, expectedContacts) => {
  test('points placed so that known contacts hold a known cylinder: those contacts, that cylinder', () => {
    const random = seededRandom(1);
    for (let trial = 0; trial < 40; trial++) {
      const made = constructed(random, 'cylinder', touched, 300);
      const start: Cylinder = {
        kind: 'cylinder',
        point: shift(made.point, 0.02, random),
        direction: unit(shift(made.direction, 0.001, random)),
        radius: 20.05,
      };
      const found = fit({ positions: made.positions }, { start });
      const { point, direction, radius } = found.feature;
      const error = Math.max(
        30 * Math.hypot(...crossOf(direction, made.direction)),
        Math.hypot(...crossOf(minus(point, made.point), made.direction)),
        Math.abs(radius - made.radius),
        touched === 'both' ? Math.abs(found.form - made.width) : 0,
      );
      expect(error).toBeLessThan(1e-9);
      expect(found.contacts.map((c) => c.index).sort((a, b) => a - b)).toEqual(made.contacts);
      expect(found.contacts).toHaveLength(expectedContacts);
      expect(found.optimality.gap).toBeLessThan(1e-12);
    }
  });

  test('scanned bores: contacts stand at the extremes and balance, and no small move does better', () => {
    const random = seededRandom(2);
    for (let trial = 0; trial < 60; trial++) {
      const n = 50 + random.below(2000);
      const noise = 10 ** (-4 * random.next());
      const length = [5, 20, 50, 200][trial % 4];
      const arc = (touched === 'inside' ? 360 : [360, 360, 200, 60][trial % 4]) * (Math.PI / 180);
      const positions = new Float64Array(3 * n);
      for (let i = 0; i < n; i++) {
        const t = arc * random.next();
        const r = 20 + noise * random.normal();
        positions.set([r * Math.cos(t), r * Math.sin(t), length * (random.next() - 0.5)], 3 * i);
      }
      const start: Cylinder = { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius: 20 };
      const found = fit({ positions }, { start });
      expect(contactError(found, positions)).toBeLessThan(1e-11);
      const { feature, contacts } = found;
      const { residue, pull } = imbalance(
        contacts,
        contacts.map((c) => axisRow(pointOf(positions, c.index), feature.point, feature.direction, length / 2)),
      );
      expect(residue).toBeLessThan(1e-7);
      expect(pull).toBeLessThan(1e-9);
      const worth = ({ low, high }: { low: number; high: number }): number =>
        touched === 'both' ? high - low : touched === 'outside' ? high : -low;
      const best = worth(extremeDistances(feature, positions));
      for (let k = 0; k < 20; k++) {
        const by = noise * 10 ** (-1 - 5 * random.next());
        const moved: Cylinder = {
          ...feature,
          point: shift(feature.point, by, random),
          direction: unit(shift(feature.direction, (2 * by) / length, random)),
        };
        expect(worth(extremeDistances(moved, positions))).toBeGreaterThan(best - 1e-11);
      }
    }
  });
});

test('a pin, a zone and a ring of one bore, and the radius each is', () => {
  const random = seededRandom(3);
  const n = 20_000;
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) {
    const t = 2 * Math.PI * random.next();
    const r = 20 + 0.05 * random.normal();
    positions.set([r * Math.cos(t), r * Math.sin(t), 50 * random.next()], 3 * i);
  }
  const start: Cylinder = { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius: 20 };
  const [zone, pin, ring] = fits.map(([, fit]) => fit({ positions }, { start }));
  expect(extremeDistances(pin.feature, positions).low).toBeCloseTo(pin.feature.radius, 12);
  expect(extremeDistances(ring.feature, positions).high).toBeCloseTo(ring.feature.radius, 12);
  expect(pin.feature.radius).toBeGreaterThan(zone.feature.radius - zone.form / 2);
  expect(ring.feature.radius).toBeLessThan(zone.feature.radius + zone.form / 2);
});

test('half a bore holds no pin; points too few or at one place are refused', () => {
  const random = seededRandom(4);
  const positions = new Float64Array(3000);
  for (let i = 0; i < 1000; i++) {
    const t = 2.5 * random.next();
    positions.set([20 * Math.cos(t), 20 * Math.sin(t), 50 * random.next()], 3 * i);
  }
  const start: Cylinder = { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius: 20 };
  expect(() => maximumInscribedCylinder({ positions }, { start })).toThrow(/do not hold a pin/);
  expect(() => minimumZoneCylinder({ positions: positions.slice(0, 15) }, { start })).toThrow(/at least 6 points/);
  expect(() => maximumInscribedCylinder({ positions: positions.slice(0, 12) }, { start })).toThrow(/at least 5 points/);
  const place = Float64Array.from({ length: 60 }, (_, i) => [20, 0, 3][i % 3]);
  const around = minimumCircumscribedCylinder({ positions: place }, { start });
  expect(around.feature.radius).toBeLessThan(1e-9);
  expect(dotOf(around.feature.direction, around.feature.direction)).toBeCloseTo(1, 12);
});

test('exactly round points, each twice: no width, the same cylinder by all three criteria', () => {
  const random = seededRandom(5);
  const once = Array.from({ length: 200 }, () => {
    const t = 2 * Math.PI * random.next();
    return [20 * Math.cos(t), 20 * Math.sin(t), 50 * random.next()];
  }).flat();
  const positions = Float64Array.from([...once, ...once]);
  const start: Cylinder = { kind: 'cylinder', point: [0.01, 0, 0], direction: unit([0.001, 0, 1]), radius: 20 };
  for (const [, fit] of fits) {
    const { feature, form } = fit({ positions }, { start });
    expect(form).toBeLessThan(1e-12);
    expect(feature.radius).toBeCloseTo(20, 12);
  }
});
