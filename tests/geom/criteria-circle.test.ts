import { readFileSync } from 'node:fs';
import {
  type Association,
  type Circle,
  type CriterionOptions,
  maximumInscribedCircle,
  minimumCircumscribedCircle,
  minimumZoneCircle,
  type Points,
  seededRandom,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { circumscribedRadius, inscribedRadius, ringWidth, stripWidth } from './criteria-brute-force.js';
import { contactError, crossOf, extremeDistances, pointOf, randomDirection, unit } from './criteria-contacts.js';

const reference = JSON.parse(readFileSync(new URL('../fixtures/reference-fits.json', import.meta.url), 'utf8'));
const start: Circle = { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius: 10 };

type Fit = (points: Points, options: CriterionOptions<Circle>) => Association<Circle>;

/** Sides of the contacts, in the order they are met going around. */
function sidesAround(found: Association<Circle>, positions: Float64Array): (1 | -1)[] {
  const { center } = found.feature;
  const angle = (i: number) => Math.atan2(pointOf(positions, i)[1] - center[1], pointOf(positions, i)[0] - center[0]);
  return [...found.contacts].sort((a, b) => angle(a.index) - angle(b.index)).map((c) => c.side);
}

/** The widest angle that holds no contact, radians. */
function widestGap(found: Association<Circle>, positions: Float64Array): number {
  const { center } = found.feature;
  const angles = found.contacts
    .map(({ index }) => pointOf(positions, index))
    .map((p) => Math.atan2(p[1] - center[1], p[0] - center[0]))
    .sort((a, b) => a - b);
  return Math.max(...angles.map((a, i) => (angles[i + 1] ?? angles[0] + 2 * Math.PI) - a));
}

const flat = (points: readonly (readonly [number, number])[]): Float64Array =>
  Float64Array.from(points.flatMap(([x, y]) => [x, y, 0]));

describe('the constructed rings', () => {
  const fits: [string, Fit, number][] = [
    ['ring-minimum-zone', minimumZoneCircle, 4],
    ['ring-maximum-inscribed', maximumInscribedCircle, 3],
    ['ring-minimum-circumscribed', minimumCircumscribedCircle, 3],
  ];
  test.each(fits)('%s', (name, fit, contacts) => {
    const { points, expected } = reference.cases.find((c: { name: string }) => c.name === name);
    const positions = Float64Array.from(points.flat());
    const near: Circle = { ...start, center: expected.center.map((c: number) => c + 0.02) };
    const found = fit({ positions }, { start: near });
    expect(Math.hypot(...[0, 1].map((k) => found.feature.center[k] - expected.center[k]))).toBeLessThan(1e-12);
    expect(Math.abs(found.feature.radius - expected.radius)).toBeLessThan(1e-12);
    if (expected.form) expect(Math.abs(found.form - expected.form)).toBeLessThan(1e-12);
    expect(found.contacts).toHaveLength(contacts);
    expect(contactError(found, positions)).toBeLessThan(1e-12);
    expect(found.optimality.gap).toBeLessThan(1e-12);
  });
});

/** Points on an arc about zero: `ragged` noise of any size. */
function arc(random: ReturnType<typeof seededRandom>, n: number, degrees: number, noise: number): [number, number][] {
  return Array.from({ length: n }, () => {
    const t = (degrees * Math.PI * random.next()) / 180;
    const r = 10 + noise * random.normal();
    return [r * Math.cos(t), r * Math.sin(t)];
  });
}

test('no ring anywhere is narrower, by all bisectors of 8 to 12 points; inner and outer contacts take turns', () => {
  const random = seededRandom(1);
  let straight = 0;
  for (let trial = 0; trial < 150; trial++) {
    const points = arc(random, 8 + random.below(5), [360, 200, 90, 40][trial % 4], 10 ** (-4 * random.next()));
    const positions = flat(points);
    const best = ringWidth(points);
    if (stripWidth(points) < best) {
      straight++;
      expect(() => minimumZoneCircle({ positions }, { start })).toThrow(/do not carry a circle/);
      continue;
    }
    const found = minimumZoneCircle({ positions }, { start });
    expect(Math.abs(found.form - best)).toBeLessThan(1e-9);
    expect(contactError(found, positions)).toBeLessThan(1e-11);
    expect([
      [1, -1, 1, -1],
      [-1, 1, -1, 1],
    ]).toContainEqual(sidesAround(found, positions));
  }
  expect(straight).toBeLessThan(40);
});

test('no circle around the points is smaller, by all pairs and triples; two contacts are a diameter, three go around', () => {
  const random = seededRandom(2);
  for (let trial = 0; trial < 200; trial++) {
    const points = arc(random, 4 + random.below(25), [360, 200, 120, 40][trial % 4], 10 ** (1 - 4 * random.next()));
    const positions = flat(points);
    const found = minimumCircumscribedCircle({ positions }, { start });
    expect(Math.abs(found.feature.radius - circumscribedRadius(points))).toBeLessThan(1e-11);
    expect(contactError(found, positions)).toBeLessThan(1e-11);
    expect(widestGap(found, positions)).toBeLessThan(Math.PI + 1e-6);
    expect(found.optimality.gap).toBeLessThan(1e-11);
  }
});

test('no pin held by three of the points is larger, by all triples; its contacts are not within half a circle', () => {
  const random = seededRandom(3);
  let open = 0;
  for (let trial = 0; trial < 200; trial++) {
    const points = arc(random, 8 + random.below(20), trial % 2 ? 360 : 270, 10 ** (-3 * random.next()));
    const positions = flat(points);
    const free = Math.min(...points.map(([x, y]) => Math.hypot(x, y)));
    const best = inscribedRadius(points, free / 2);
    let found: Association<Circle>;
    try {
      found = maximumInscribedCircle({ positions }, { start });
    } catch (error) {
      // Few points leave a way out that widens all along: the largest free circle lies at the rim of where a pin may be.
      expect(error).toMatchObject({ code: 'open-arc' });
      open++;
      continue;
    }
    expect(found.feature.radius).toBeCloseTo(best!, 11);
    expect(contactError(found, positions)).toBeLessThan(1e-11);
    expect(widestGap(found, positions)).toBeLessThan(Math.PI);
    expect(found.optimality.gap).toBeLessThan(1e-11);
  }
  expect(open).toBeLessThan(80);
});

test('pin, zone and ring of one scanned hole: the pin inside the zone, the ring outside, each proven', () => {
  const random = seededRandom(4);
  for (const degrees of [360, 240]) {
    const positions = flat(arc(random, 20_000, degrees, 0.05));
    const pin = maximumInscribedCircle({ positions }, { start });
    const zone = minimumZoneCircle({ positions }, { start });
    const ring = minimumCircumscribedCircle({ positions }, { start });
    expect(pin.feature.radius).toBeGreaterThan(zone.feature.radius - zone.form / 2);
    expect(ring.feature.radius).toBeLessThan(zone.feature.radius + zone.form / 2);
    expect(zone.form).toBeLessThanOrEqual(Math.min(pin.form, ring.form));
    for (const found of [pin, zone, ring]) {
      expect(found.optimality.scope).toBe('global');
      expect(found.optimality.gap).toBeLessThan(1e-12);
      expect(contactError(found, positions)).toBeLessThan(1e-12);
    }
    expect(extremeDistances(pin.feature, positions).low).toBeCloseTo(pin.feature.radius, 12);
    expect(extremeDistances(ring.feature, positions).high).toBeCloseTo(ring.feature.radius, 12);
  }
});

test('a tilted plane far from zero changes nothing but rounding', () => {
  const random = seededRandom(5);
  const points = arc(random, 200, 360, 0.1);
  const level = minimumZoneCircle({ positions: flat(points) }, { start });
  const normal = randomDirection(random);
  const u = unit(crossOf(normal, [1, 2, 3]));
  const v = crossOf(normal, u);
  const center = [8000, -20_000, 5000] as const;
  const positions = Float64Array.from(
    points.flatMap(([x, y]) => [0, 1, 2].map((k) => center[k] + x * u[k] + y * v[k])),
  );
  const found = minimumZoneCircle({ positions }, { start: { ...start, center, normal } });
  expect(Math.abs(found.form - level.form)).toBeLessThan(1e-10);
  expect(Math.abs(found.feature.radius - level.feature.radius)).toBeLessThan(1e-10);
});

test('exactly round points have no width, and one radius by all three criteria', () => {
  const n = 64;
  const positions = flat(
    Array.from({ length: n }, (_, i) => [10 * Math.cos((2 * Math.PI * i) / n), 10 * Math.sin((2 * Math.PI * i) / n)]),
  );
  for (const fit of [minimumZoneCircle, minimumCircumscribedCircle, maximumInscribedCircle]) {
    const { feature, form } = fit({ positions }, { start: { ...start, center: [0.1, 0.2, 0] } });
    expect(form).toBeLessThan(1e-13);
    expect(feature.radius).toBeCloseTo(10, 13);
    expect(Math.hypot(...feature.center)).toBeLessThan(1e-13);
  }
});

test('a short arc warns that a ring rests on its ends, and holds no pin', () => {
  const random = seededRandom(6);
  const positions = flat(arc(random, 1000, 90, 0.01));
  const ring = minimumCircumscribedCircle({ positions }, { start });
  // The chord of a quarter of a circle: 10 · √2 / 2.
  expect(ring.feature.radius).toBeCloseTo(10 * Math.SQRT1_2, 1);
  expect(ring.warnings.map((w) => w.code)).toEqual(['far-from-least-squares']);
  expect(() => maximumInscribedCircle({ positions }, { start })).toThrow(/do not hold a pin/);
});

test('points on a line, at one place, or too few are refused', () => {
  const line = flat([0, 1, 2, 3, 4].map((t) => [t, 2 * t]));
  expect(() => minimumZoneCircle({ positions: line }, { start })).toThrow(/do not carry a circle/);
  expect(() => maximumInscribedCircle({ positions: line }, { start })).toThrow(/do not hold a pin/);
  const place = flat([3, 3, 3, 3, 3].map((t) => [t, t]));
  expect(() => minimumZoneCircle({ positions: place }, { start })).toThrow(/do not carry a circle/);
  expect(() => maximumInscribedCircle({ positions: place }, { start })).toThrow(/do not hold a pin/);
  expect(minimumCircumscribedCircle({ positions: place }, { start }).feature.radius).toBe(0);
  expect(() => minimumZoneCircle({ positions: line.slice(0, 9) }, { start })).toThrow(/at least 4 points/);
  // Each point twice changes nothing.
  const points = arc(seededRandom(7), 30, 360, 0.1);
  for (const fit of [minimumZoneCircle, minimumCircumscribedCircle, maximumInscribedCircle]) {
    const once = fit({ positions: flat(points) }, { start });
    const twice = fit({ positions: flat([...points, ...points]) }, { start });
    expect(twice.feature.radius).toBeCloseTo(once.feature.radius, 13);
  }
});
