import { type Line, minimumZoneLine, type Plane, seededRandom, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { stripWidth } from './criteria-brute-force.js';
import {
  axisRow,
  contactError,
  crossOf,
  distanceTo,
  dotOf,
  extremeDistances,
  imbalance,
  minus,
  pointOf,
  unit,
} from './criteria-contacts.js';

const start: Line = { kind: 'line', point: [0, 0, 0], direction: [1, 0, 0] };
const plane: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };

test('in a plane no strip is narrower, by all pairs of 5 to 40 points; one contact lies between two on the other side', () => {
  const random = seededRandom(1);
  for (let trial = 0; trial < 200; trial++) {
    const n = 5 + random.below(36);
    const wide = 10 ** (-4 * random.next());
    const points = Array.from({ length: n }, (): [number, number] => [random.normal(), wide * random.normal()]);
    const positions = Float64Array.from(points.flatMap(([x, y]) => [x, y, random.normal()]));
    const { feature, form, contacts, optimality } = minimumZoneLine({ positions }, { start, plane });
    expect(Math.abs(form - stripWidth(points))).toBeLessThan(1e-14);
    expect(optimality).toMatchObject({ scope: 'global' });
    expect(optimality.gap).toBeLessThan(1e-14);
    expect(feature.direction[2]).toBe(0);
    expect(feature.direction[0]).toBeGreaterThan(0);
    const across = crossOf(plane.normal, feature.direction);
    const along = (side: number) =>
      contacts.filter((c) => c.side === side).map((c) => dotOf(pointOf(positions, c.index), feature.direction));
    for (const { index, side } of contacts)
      expect(dotOf(minus(pointOf(positions, index), feature.point), across)).toBeCloseTo((side * form) / 2, 13);
    const [two, one] = along(1).length === 2 ? [along(1), along(-1)] : [along(-1), along(1)];
    expect(two).toHaveLength(2);
    expect(one).toHaveLength(1);
    expect((one[0] - two[0]) * (one[0] - two[1])).toBeLessThanOrEqual(0);
  }
});

test('in space the zone is the smallest cylinder: contacts on it balance, and no small move makes it smaller', () => {
  const random = seededRandom(2);
  for (let trial = 0; trial < 100; trial++) {
    const n = 10 + random.below(200);
    const noise = 10 ** (-4 * random.next());
    const direction = unit([1, 2 * random.next(), -random.next()]);
    const positions = new Float64Array(3 * n);
    for (let i = 0; i < n; i++) {
      const t = 50 * random.next();
      positions.set(
        direction.map((c) => 300 + t * c + noise * random.normal()),
        3 * i,
      );
    }
    const found = minimumZoneLine({ positions }, { start: { ...start, point: [300, 300, 300], direction } });
    const { feature, form, contacts } = found;
    expect(Math.abs(form - 2 * extremeDistances(feature, positions).high)).toBeLessThan(1e-11);
    expect(contactError(found, positions)).toBeLessThan(1e-10);
    const rows = contacts.map((c) => axisRow(pointOf(positions, c.index), feature.point, feature.direction, 25));
    const { residue, pull } = imbalance(contacts, rows);
    expect(residue).toBeLessThan(1e-7);
    expect(pull).toBeLessThan(1e-9);
    for (let k = 0; k < 50; k++) {
      const by = noise * 10 ** (-5 * random.next());
      const shifted: Line = {
        ...feature,
        point: feature.point.map((c) => c + by * random.normal()) as unknown as Vec3,
        direction: unit(feature.direction.map((c) => c + (by / 25) * random.normal()) as unknown as Vec3),
      };
      expect(extremeDistances(shifted, positions).high).toBeGreaterThan(form / 2 - 1e-11);
    }
  }
});

test('three points that are the corners of an equilateral prism end: the axis of their circumscribed cylinder', () => {
  // Two triangles of side √3 · 1 mm, 10 mm apart, turned by 60°: by symmetry the axis is theirs and all six touch at 1 mm.
  const corners = [0, 2, 4, 1, 3, 5].map((k, i): Vec3 => {
    const angle = (k * Math.PI) / 3;
    return [i < 3 ? -5 : 5, Math.cos(angle), Math.sin(angle)];
  });
  const positions = Float64Array.from(corners.flat());
  const found = minimumZoneLine(
    { positions },
    { start: { ...start, point: [0, 0.1, -0.05], direction: unit([1, 0.01, 0.02]) } },
  );
  expect(found.form).toBeCloseTo(2, 12);
  expect(Math.abs(found.feature.direction[0])).toBeCloseTo(1, 12);
  for (const c of corners) expect(distanceTo(found.feature, c)).toBeCloseTo(1, 9);
});

test('straight points have no width; points at one place and a line square to its plane are refused', () => {
  const straight = Float64Array.from([0, 1, 2, 5].flatMap((t) => [t, 2 * t, 0]));
  const direction = unit([1, 2, 0]);
  expect(minimumZoneLine({ positions: straight }, { start: { ...start, direction } }).form).toBeLessThan(1e-14);
  expect(minimumZoneLine({ positions: straight }, { start: { ...start, direction }, plane }).form).toBeLessThan(1e-14);
  const place = new Float64Array(12).fill(2);
  const here: Line = { ...start, point: [2, 2, 2] };
  for (const options of [{ start: here }, { start: here, plane }])
    expect(() => minimumZoneLine({ positions: place }, options)).toThrow(/all lie at one place/);
  expect(() => minimumZoneLine({ positions: straight }, { start: { ...start, direction: [0, 0, 1] }, plane })).toThrow(
    /square to the plane/,
  );
});
