import { readFileSync } from 'node:fs';
import { minimumZonePlane, type Plane, seededRandom, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { slabWidth } from './criteria-brute-force.js';
import {
  contactError,
  crossOf,
  dotOf,
  extremeDistances,
  minus,
  pointOf,
  randomDirection,
} from './criteria-contacts.js';

const reference = JSON.parse(readFileSync(new URL('../fixtures/reference-fits.json', import.meta.url), 'utf8'));
const start: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };

/**
 * One contact against three, and it stands over their triangle; or two against two, and their lines cross (the 3-1 and
 * 2-2 rules, common practice).
 */
function alternates(
  positions: Float64Array,
  contacts: readonly { index: number; side: number }[],
  normal: Vec3,
): boolean {
  const of = (side: number) => contacts.filter((c) => c.side === side).map((c) => pointOf(positions, c.index));
  const [upper, lower] = [of(1), of(-1)];
  /** Twice the area of the triangle seen along the normal, signed. */
  const turn = (a: Vec3, b: Vec3, c: Vec3): number => dotOf(crossOf(minus(b, a), minus(c, a)), normal);
  if (upper.length === 2 && lower.length === 2) {
    const [a, b] = upper;
    const [c, d] = lower;
    return turn(a, b, c) * turn(a, b, d) <= 0 && turn(c, d, a) * turn(c, d, b) <= 0;
  }
  const [three, one] = upper.length === 3 ? [upper, lower] : [lower, upper];
  if (three.length !== 3 || one.length !== 1) return false;
  const turns = three.map((a, i) => Math.sign(turn(a, three[(i + 1) % 3], one[0])));
  return turns.every((t) => t >= 0) || turns.every((t) => t <= 0);
}

test('the constructed flatness case: three contacts on one side, one inside their triangle on the other', () => {
  const { points, expected } = reference.cases.find((c: { name: string }) => c.name === 'flatness-contacts');
  const positions = Float64Array.from(points.flat());
  const { feature, form, contacts, optimality } = minimumZonePlane(
    { positions },
    { start: { ...start, point: points[0] } },
  );
  expect(Math.abs(form - expected.form)).toBeLessThan(1e-12);
  expect(Math.hypot(...crossOf(feature.normal, expected.normal))).toBeLessThan(1e-12);
  expect(Math.abs(dotOf(minus(feature.point, expected.point), expected.normal))).toBeLessThan(1e-12);
  expect(contacts).toHaveLength(4);
  expect(alternates(positions, contacts, feature.normal)).toBe(true);
  expect(optimality.scope).toBe('global');
  expect(optimality.gap).toBeLessThan(1e-12);
});

test('no direction of the plane does better, by all pairs of edges of 10 to 14 points in any proportion', () => {
  const random = seededRandom(2);
  for (let trial = 0; trial < 60; trial++) {
    const n = 10 + random.below(5);
    const [a, b, c] = [1, 1, 1].map(() => 10 ** (3 * random.next()));
    const positions = new Float64Array(3 * n);
    for (let i = 0; i < n; i++) positions.set([a * random.normal(), b * random.normal(), c * random.normal()], 3 * i);
    const found = minimumZonePlane({ positions }, { start: { ...start, normal: randomDirection(random) } });
    const best = slabWidth(positions);
    expect(found.form / best - 1).toBeLessThan(1e-10);
    expect(best / found.form - 1).toBeLessThan(1e-10);
    expect(contactError(found, positions)).toBeLessThan(1e-10 * found.form + 1e-12);
    expect(alternates(positions, found.contacts, found.feature.normal)).toBe(true);
  }
});

test('a scanned face: the contacts alternate, all points lie in the zone, and the proven bound meets its width', () => {
  const random = seededRandom(3);
  for (const [n, noise, offset] of [
    [20_000, 0.05, 0],
    [20_000, 0.05, 20_000],
    [2_000, 1e-7, 100],
    [50, 3, 100],
  ]) {
    const positions = new Float64Array(3 * n);
    for (let i = 0; i < n; i++) {
      const [x, y] = [200 * random.next(), 20 * random.next()];
      positions.set([offset + x, y - offset, 0.1 * x - 0.3 * y + noise * random.normal() + offset], 3 * i);
    }
    const found = minimumZonePlane({ positions }, { start });
    const rounding = 1e-12 * (offset + 200);
    const { low, high } = extremeDistances(found.feature, positions);
    expect(Math.abs(low + found.form / 2)).toBeLessThan(rounding);
    expect(Math.abs(high - found.form / 2)).toBeLessThan(rounding);
    expect(found.optimality.gap).toBeLessThan(rounding);
    expect(alternates(positions, found.contacts, found.feature.normal)).toBe(true);
  }
});

test('the normal keeps the side of the start, and contacts of side 1 lie on it', () => {
  const random = seededRandom(4);
  const positions = new Float64Array(300);
  for (let i = 0; i < 100; i++) positions.set([random.normal(), random.normal(), 0.1 * random.normal()], 3 * i);
  for (const z of [1, -1]) {
    const { feature, form, contacts } = minimumZonePlane({ positions }, { start: { ...start, normal: [0, 0, z] } });
    expect(feature.normal[2] * z).toBeGreaterThan(0.5);
    for (const { index, side } of contacts)
      expect(dotOf(minus(pointOf(positions, index), feature.point), feature.normal)).toBeCloseTo((side * form) / 2, 12);
  }
});

test('points in one plane have no width; points on a line, at one place, or fewer than three are refused', () => {
  const grid = Float64Array.from([0, 1, 2, 3, 4, 5, 6, 7, 8].flatMap((i) => [i % 3, Math.floor(i / 3), 7]));
  const flat = minimumZonePlane({ positions: grid }, { start: { ...start, normal: [0, 0.6, 0.8] } });
  expect(flat.form).toBe(0);
  expect(flat.feature.normal[2]).toBeCloseTo(1, 14);
  // Each point twice changes nothing.
  const random = seededRandom(5);
  const once = Float64Array.from({ length: 90 }, (_, i) => (i % 3 === 2 ? 0.1 : 1) * random.normal());
  const twice = Float64Array.from([...once, ...once]);
  const [single, double] = [once, twice].map((p) => minimumZonePlane({ positions: p }, { start }).form);
  expect(double).toBeCloseTo(single, 14);
  const line = Float64Array.from([0, 0, 0, 1, 1, 1, 2, 2, 2, 5, 5, 5]);
  expect(() => minimumZonePlane({ positions: line }, { start })).toThrow(/lie on a line/);
  expect(() => minimumZonePlane({ positions: new Float64Array(12).fill(3) }, { start })).toThrow(/lie on a line/);
  expect(() => minimumZonePlane({ positions: line.slice(0, 6) }, { start })).toThrow(/at least 3 points/);
});
