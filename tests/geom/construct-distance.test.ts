import { angleOf, distanceOf, type Feature, type FettleError, type Line, type Plane, type Vec3 } from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Expected values are worked out by hand or follow from the definitions.

const degrees = Math.PI / 180;
const top: Plane = { kind: 'plane', point: [0, 0, 10], normal: [0, 0, 1] };
const ball: Feature = { kind: 'sphere', center: [3, 4, 0], radius: 2 };
const origin: Feature = { kind: 'point', position: [0, 0, 0] };
const alongX: Line = { kind: 'line', point: [0, 0, 0], direction: [1, 0, 0] };
const bore = (point: Vec3, direction: Vec3): Feature => ({ kind: 'cylinder', point, direction, radius: 5 });
const refusal = (f: () => unknown): FettleError => {
  try {
    f();
  } catch (error) {
    return error as FettleError;
  }
  throw new Error('nothing was refused');
};

test('from a point to the center of a ball', () => {
  expect(distanceOf(origin, ball)).toEqual({ value: 5, from: [0, 0, 0], to: [3, 4, 0], warnings: [] });
});

test('from a plane, distances are positive on the side it faces, whichever is named first', () => {
  expect(distanceOf(top, origin)).toEqual({ value: -10, from: [0, 0, 10], to: [0, 0, 0], warnings: [] });
  expect(distanceOf(origin, top)).toEqual({ value: -10, from: [0, 0, 0], to: [0, 0, 10], warnings: [] });
  expect(distanceOf({ ...top, normal: [0, 0, -1] }, origin).value).toBe(10);
});

test('from a point to a line and to the axis of a bore', () => {
  expect(distanceOf(ball, alongX)).toEqual({ value: 4, from: [3, 4, 0], to: [3, 0, 0], warnings: [] });
  expect(distanceOf(bore([0, 0, 7], [0, 1, 0]), origin).value).toBe(7);
});

test('two skew lines are as far apart as the ends of their common perpendicular', () => {
  // A textbook pair: x axis, and the line x = 5, z = 2 along y.
  expect(distanceOf(alongX, { kind: 'line', point: [5, 9, 2], direction: [0, 1, 0] })).toEqual({
    value: 2,
    from: [5, 0, 0],
    to: [5, 0, 2],
    warnings: [],
  });
});

test('the shortest way between two lines is square to both and no longer than any other', () => {
  const number = fc.double({ min: -300, max: 300, noNaN: true });
  const unit = fc
    .tuple(number, number, number)
    .filter((v) => Math.hypot(...v) > 1)
    .map((v): Vec3 => {
      const l = Math.hypot(...v);
      return [v[0] / l, v[1] / l, v[2] / l];
    });
  fc.assert(
    fc.property(
      fc.tuple(number, number, number),
      unit,
      fc.tuple(number, number, number),
      unit,
      number,
      number,
      (p, d, q, e, s, t) => {
        const a: Line = { kind: 'line', point: p, direction: d };
        const b: Line = { kind: 'line', point: q, direction: e };
        const sine = Math.sin(angleOf(a, b));
        fc.pre(sine > 0.05);
        const { value, from, to } = distanceOf(a, b);
        const way = [0, 1, 2].map((i) => to[i] - from[i]);
        const dot = (u: readonly number[], v: readonly number[]) => u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
        expect(Math.abs(dot(way, d))).toBeLessThan(1e-9);
        expect(Math.abs(dot(way, e))).toBeLessThan(1e-9);
        const other = Math.hypot(...[0, 1, 2].map((i) => p[i] + s * d[i] - q[i] - t * e[i]));
        expect(value).toBeLessThanOrEqual(other + 1e-9);
      },
    ),
    { seed: 4 },
  );
});

test('two bores half a degree from parallel are measured where the second is, with what a meter would change', () => {
  // Their shortest way lies 40 / tan 0.5° = 4.6 m off; at the second's own point they are 40 mm apart.
  const tilt = 0.5 * degrees;
  const { value, warnings } = distanceOf(
    bore([0, 0, 0], [0, 0, 1]),
    bore([40, 0, 15], [Math.sin(tilt), 0, Math.cos(tilt)]),
  );
  expect(value).toBe(40);
  expect(warnings).toEqual([
    {
      code: 'not-parallel',
      message:
        'The two lines are 0.5° from parallel: the distance changes by 0.8727 mm over 100 mm, and holds where it was taken.',
    },
  ]);
});

test('two nearly parallel planes are measured along the first, at the second or at a point given', () => {
  const slope = Math.tan(2 * degrees);
  const sloped: Plane = {
    kind: 'plane',
    point: [100, 0, 4],
    normal: [-Math.sin(2 * degrees), 0, Math.cos(2 * degrees)],
  };
  const here = distanceOf(top, sloped);
  expect(here.value).toBeCloseTo(-6, 12);
  expect(here.from).toEqual([100, 0, 10]);
  const there = distanceOf(top, sloped, { at: [0, 0, 0] });
  expect(there.value).toBeCloseTo(-6 - 100 * slope, 12);
  expect(there.to[2]).toBeCloseTo(4 - 100 * slope, 12);
  expect(here.warnings[0]?.message).toBe(
    'The two planes are 2° from parallel: the distance changes by 3.492 mm over 100 mm, and holds where it was taken.',
  );
});

test('planes at 40°, and a line at 40° to a plane, have no one distance', () => {
  const roof: Plane = { kind: 'plane', point: [0, 0, 0], normal: [Math.sin(40 * degrees), 0, Math.cos(40 * degrees)] };
  expect(refusal(() => distanceOf(top, roof)).code).toBe('not-parallel');
  expect(refusal(() => distanceOf(top, roof)).message).toBe(
    'The two planes are 40° from parallel: they have no one distance. Measure from a point, or intersect them.',
  );
  expect(refusal(() => distanceOf(bore([0, 0, 0], roof.normal), roof)).code).toBe('not-parallel');
});

test('an axis along a plane lies as far off it as its point', () => {
  expect(distanceOf(top, alongX).value).toBe(-10);
  expect(distanceOf(bore([5, 5, 22], [0, 1, 0]), top)).toEqual({
    value: 12,
    from: [5, 5, 22],
    to: [5, 5, 10],
    warnings: [],
  });
});

test('angles are taken between lines, between planes, and between a line and a plane, signs aside', () => {
  const tilt = (a: number): Vec3 => [Math.sin(a), 0, Math.cos(a)];
  const roof: Plane = { kind: 'plane', point: [0, 0, 0], normal: tilt(30 * degrees) };
  const line = (a: number): Line => ({ kind: 'line', point: [0, 0, 0], direction: tilt(a) });
  expect(angleOf(top, roof) / degrees).toBeCloseTo(30, 12);
  expect(angleOf(top, { ...roof, normal: tilt(210 * degrees) }) / degrees).toBeCloseTo(30, 12);
  expect(angleOf(line(10 * degrees), line(130 * degrees)) / degrees).toBeCloseTo(60, 12);
  expect(angleOf(line(10 * degrees), top) / degrees).toBeCloseTo(80, 12);
  expect(angleOf(roof, line(10 * degrees)) / degrees).toBeCloseTo(70, 12);
  expect(refusal(() => angleOf(top, ball)).message).toBe(
    'There is no direction in a sphere. Use a plane, a line, a circle, a cylinder, a cone, a slot or an ellipse.',
  );
});

test('angles as small as 1e-9 rad keep their digits', () => {
  const a: Plane = { kind: 'plane', point: [0, 0, 0], normal: [Math.sin(1e-9), 0, Math.cos(1e-9)] };
  expect(angleOf(top, a)).toBeCloseTo(1e-9, 18);
});

test('numbers that are none lead to an error, never to a distance or an angle', () => {
  const nowhere: Feature = { kind: 'point', position: [0, Number.NaN, 0] };
  const noWay: Plane = { kind: 'plane', point: [0, 0, 0], normal: [Number.NaN, 0, 1] };
  expect(refusal(() => distanceOf(nowhere, origin)).code).toBe('not-finite');
  expect(refusal(() => angleOf(noWay, top)).code).toBe('not-finite');
  expect(refusal(() => distanceOf(nowhere, top)).message).toMatch(/^The distance came out as NaN/);
});
