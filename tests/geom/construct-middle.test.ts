import {
  type FettleError,
  lineThrough,
  midplane,
  midpoint,
  offsetPlane,
  type Plane,
  type Point,
  planeThrough,
  project,
  projectOnLine,
  projectOnPlane,
  type Vec3,
} from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Expected values are worked out by hand or follow from the definitions.

const degrees = Math.PI / 180;
const at = (x: number, y: number, z: number): Point => ({ kind: 'point', position: [x, y, z] });
const distance = ({ point, normal }: Plane, p: Vec3) =>
  normal[0] * (p[0] - point[0]) + normal[1] * (p[1] - point[1]) + normal[2] * (p[2] - point[2]);
const code = (f: () => unknown) => {
  try {
    f();
  } catch (error) {
    return (error as FettleError).code;
  }
  return undefined;
};

test('a point falls on a plane along the normal, on a line square to it', () => {
  const top: Plane = { kind: 'plane', point: [100, 100, 5], normal: [0, 0, -1] };
  expect(projectOnPlane(at(1, 2, 30), top).feature.position).toEqual([1, 2, 5]);
  const edge = { kind: 'line', point: [0, 5, 5], direction: [1, 0, 0] } as const;
  expect(projectOnLine(at(7, 1, 2), edge).feature.position).toEqual([7, 5, 5]);
  expect(project({ kind: 'sphere', center: [7, 1, 2], radius: 4 }, edge).feature.position).toEqual([7, 5, 5]);
  expect(code(() => project(at(0, 0, 0), at(1, 1, 1)))).toBe('wrong-kind');
});

test('the middle of a slab 10 mm thick is 5 mm inside, facing as its first side does', () => {
  const upper: Plane = { kind: 'plane', point: [3, 0, 10], normal: [0, 0, 1] };
  const lower: Plane = { kind: 'plane', point: [5, 8, 0], normal: [0, 0, -1] };
  expect(midplane(upper, lower)).toEqual({
    feature: { kind: 'plane', point: [4, 4, 5], normal: [0, 0, 1] },
    warnings: [],
  });
  expect(midplane(lower, upper).feature.normal).toEqual([0, 0, -1]);
});

test('every point of a mid-plane is as far from one plane as from the other', () => {
  const angle = fc.double({ min: -0.6, max: 0.6, noNaN: true });
  const number = fc.double({ min: -500, max: 500, noNaN: true });
  fc.assert(
    fc.property(
      angle,
      angle,
      fc.tuple(number, number, number),
      fc.tuple(number, number, number),
      fc.boolean(),
      (p, q, a, b, turn) => {
        const s = turn ? -1 : 1;
        const first: Plane = { kind: 'plane', point: a, normal: [Math.sin(p), 0, Math.cos(p)] };
        const second: Plane = { kind: 'plane', point: b, normal: [0, s * Math.sin(q), s * Math.cos(q)] };
        const { point, normal } = midplane(first, second).feature;
        const u: Vec3 = [normal[2], 0, -normal[0]];
        for (const t of [0, 70, -300]) {
          const on: Vec3 = [point[0] + t * u[0], point[1] + t * u[1], point[2] + t * u[2]];
          expect(Math.abs(distance(first, on))).toBeCloseTo(Math.abs(distance(second, on)), 9);
        }
      },
    ),
    { seed: 3 },
  );
});

test('a wedge of 10° has a mid-plane with a warning; square planes have none', () => {
  const flat: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
  const wedge: Plane = { kind: 'plane', point: [0, 0, 0], normal: [Math.sin(10 * degrees), 0, Math.cos(10 * degrees)] };
  const { feature, warnings } = midplane(flat, wedge);
  expect(feature.normal[0]).toBeCloseTo(Math.sin(5 * degrees), 12);
  expect(warnings.map((w) => w.message)).toEqual(['The two planes are 10° apart: their mid-plane halves a wedge.']);
  expect(code(() => midplane(flat, { kind: 'plane', point: [0, 0, 0], normal: [1, 0, 0] }))).toBe('not-parallel');
});

test('two hole centers give their middle and the line from the first to the second', () => {
  const left = { kind: 'circle', center: [0, 0, 3], normal: [0, 0, 1], radius: 4 } as const;
  const right = { kind: 'circle', center: [30, 40, 3], normal: [0, 0, 1], radius: 4 } as const;
  expect(midpoint(left, right).feature.position).toEqual([15, 20, 3]);
  expect(lineThrough(left, right).feature).toEqual({ kind: 'line', point: [15, 20, 3], direction: [0.6, 0.8, 0] });
  expect(code(() => lineThrough(left, left))).toBe('coincident');
});

test('three centers give a plane, right-handed about them in their order', () => {
  const { point, normal } = planeThrough(at(0, 0, 4), at(3, 0, 4), at(0, 6, 4)).feature;
  expect(point).toEqual([1, 2, 4]);
  expect(normal.map((c) => c + 0)).toEqual([0, 0, 1]);
  const other = planeThrough(at(0, 0, 4), at(0, 6, 4), at(3, 0, 4)).feature;
  expect(other.normal.map((c) => c + 0)).toEqual([0, 0, -1]);
});

test('three points on a line, or two in one place, give no plane', () => {
  expect(code(() => planeThrough(at(0, 0, 0), at(50, 0, 0.001), at(100, 0, 0)))).toBe('collinear');
  expect(code(() => planeThrough(at(0, 0, 0), at(0, 0, 0), at(100, 0, 0)))).toBe('coincident');
  expect(() => planeThrough(at(0, 0, 0), at(50, 0, 0.001), at(100, 0, 0))).toThrow(
    'The three points lie on a line to within 0.00115°: no one plane runs through them.',
  );
});

test('a plane offset by -12 lies 12 mm behind its normal', () => {
  const top: Plane = { kind: 'plane', point: [1, 2, 3], normal: [0, 0, 1] };
  expect(offsetPlane(top, -12).feature).toEqual({ kind: 'plane', point: [1, 2, -9], normal: [0, 0, 1] });
});
