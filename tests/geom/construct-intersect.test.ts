import {
  FettleError,
  intersect,
  intersectLinePlane,
  intersectLines,
  intersectPlanes,
  intersectThreePlanes,
  type Line,
  type Plane,
  type Vec3,
} from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Expected places are worked out by hand or follow from the definition (a meeting point lies on everything that meets there).

const plane = (point: Vec3, normal: Vec3): Plane => {
  const l = Math.hypot(...normal);
  return { kind: 'plane', point, normal: [normal[0] / l, normal[1] / l, normal[2] / l] };
};
const line = (point: Vec3, direction: Vec3): Line => {
  const { normal } = plane(point, direction);
  return { kind: 'line', point, direction: normal };
};
const off = ({ point, normal }: Plane, p: Vec3) =>
  Math.abs(normal[0] * (p[0] - point[0]) + normal[1] * (p[1] - point[1]) + normal[2] * (p[2] - point[2]));
const degrees = Math.PI / 180;
/** A plane through a point, tilted from z by an angle about the y axis. */
const tilted = (angle: number, point: Vec3 = [0, 0, 0]) => plane(point, [Math.sin(angle), 0, Math.cos(angle)]);

const refusal = (f: () => unknown): FettleError => {
  try {
    f();
  } catch (error) {
    if (error instanceof FettleError) return error;
    throw error;
  }
  throw new Error('nothing was refused');
};

const coordinate = fc.double({ min: -10_000, max: 10_000, noNaN: true });
const place: fc.Arbitrary<Vec3> = fc.tuple(coordinate, coordinate, coordinate);
const direction: fc.Arbitrary<Vec3> = fc
  .tuple(
    ...([0, 1, 2].map(() => fc.double({ min: -1, max: 1, noNaN: true })) as [
      fc.Arbitrary<number>,
      fc.Arbitrary<number>,
      fc.Arbitrary<number>,
    ]),
  )
  .filter((d) => Math.hypot(...d) > 0.1);

test('the top z = 5 and the front y = -2 meet in the edge along x, nearest the middle between their points', () => {
  const { feature, warnings } = intersectPlanes(plane([10, 0, 5], [0, 0, 1]), plane([20, -2, 0], [0, -1, 0]));
  expect(feature.point).toEqual([15, -2, 5]);
  expect(feature.direction.map((c) => c + 0)).toEqual([1, 0, 0]);
  expect(warnings).toEqual([]);
});

test('the line of two planes lies in both and runs along the first normal crossed with the second', () => {
  fc.assert(
    fc.property(place, direction, place, direction, (p, n, q, m) => {
      const a = plane(p, n);
      const b = plane(q, m);
      const cross: Vec3 = [
        a.normal[1] * b.normal[2] - a.normal[2] * b.normal[1],
        a.normal[2] * b.normal[0] - a.normal[0] * b.normal[2],
        a.normal[0] * b.normal[1] - a.normal[1] * b.normal[0],
      ];
      const sine = Math.hypot(...cross);
      fc.pre(sine > 0.02);
      const { point, direction: d } = intersectPlanes(a, b).feature;
      // Rounding of coordinates of 10 m is 2e-12 mm; meeting at an angle makes 1/sin of it.
      for (const t of [0, -5000, 5000]) {
        const on: Vec3 = [point[0] + t * d[0], point[1] + t * d[1], point[2] + t * d[2]];
        expect(off(a, on)).toBeLessThan(1e-10 / sine);
        expect(off(b, on)).toBeLessThan(1e-10 / sine);
      }
      expect(Math.hypot(d[0] - cross[0] / sine, d[1] - cross[1] / sine, d[2] - cross[2] / sine)).toBeLessThan(1e-12);
    }),
    { seed: 1 },
  );
});

test('three planes meet in the one point that lies in all of them, whatever their order', () => {
  fc.assert(
    fc.property(place, direction, direction, direction, (corner, n1, n2, n3) => {
      const [a, b, c] = [n1, n2, n3].map((n) => plane(corner, n)) as [Plane, Plane, Plane];
      const determinant = Math.abs(
        a.normal[0] * (b.normal[1] * c.normal[2] - b.normal[2] * c.normal[1]) -
          a.normal[1] * (b.normal[0] * c.normal[2] - b.normal[2] * c.normal[0]) +
          a.normal[2] * (b.normal[0] * c.normal[1] - b.normal[1] * c.normal[0]),
      );
      fc.pre(determinant > 0.02);
      for (const order of [
        [a, b, c],
        [c, a, b],
        [b, a, c],
      ] as const) {
        const { position } = intersectThreePlanes(...order).feature;
        expect(Math.hypot(position[0] - corner[0], position[1] - corner[1], position[2] - corner[2])).toBeLessThan(
          1e-10 / determinant,
        );
      }
    }),
    { seed: 2 },
  );
});

test('a drafted corner: top z = 0, front and side leaning 3° and 2° meet where the arithmetic says', () => {
  // Front: y cos3° + z sin3° = 0, side: x cos2° + z sin2° = 100 cos2°; at z = 0 they pass y = 0 and x = 100.
  const front = plane([50, -10 * Math.tan(3 * degrees), 10], [0, Math.cos(3 * degrees), Math.sin(3 * degrees)]);
  const side = plane([100, 40, 0], [Math.cos(2 * degrees), 0, Math.sin(2 * degrees)]);
  const { position } = intersectThreePlanes(plane([7, 9, 0], [0, 0, 1]), front, side).feature;
  expect(position[0]).toBeCloseTo(100, 12);
  expect(position[1]).toBeCloseTo(0, 12);
  expect(position[2]).toBeCloseTo(0, 12);
});

test('the axis of a bore pierces the top; so does the axis of a hole seen as a circle', () => {
  const top = plane([0, 0, 12], [0, 0, 1]);
  const along: Vec3 = [0.6, 0, 0.8];
  const at = { kind: 'point', position: [9, 4, 12] };
  expect(intersectLinePlane({ kind: 'cylinder', point: [0, 4, 0], direction: along, radius: 3 }, top).feature).toEqual(
    at,
  );
  expect(intersectLinePlane({ kind: 'circle', center: [0, 4, 0], normal: along, radius: 3 }, top).feature).toEqual(at);
  expect(intersectLinePlane({ kind: 'cone', apex: [0, 4, 0], direction: along, halfAngle: 0.1 }, top).feature).toEqual(
    at,
  );
});

test('parallel planes meet in no line, and the message says how parallel they are', () => {
  const error = refusal(() => intersectPlanes(tilted(0), tilted(0.004 * degrees, [0, 0, 20])));
  expect(error.code).toBe('parallel');
  expect(error.message).toBe(
    'The two planes are parallel to within 0.004°: they meet in no line. Choose planes at an angle.',
  );
  expect(refusal(() => intersectPlanes(tilted(0), tilted(Math.PI))).message).toContain('within 0°');
});

test('planes half a degree apart meet, with a warning of what it costs', () => {
  const { feature, warnings } = intersectPlanes(tilted(0), tilted(0.5 * degrees, [0, 0, 1]));
  // A plane rising 1 mm over half a degree reaches z = 0 at x = 1 / tan 0.5°.
  expect(feature.point[0]).toBeCloseTo(1 / Math.tan(0.5 * degrees), 9);
  expect(feature.point[2]).toBeCloseTo(0, 12);
  expect(warnings).toEqual([
    {
      code: 'ill-conditioned',
      message: 'The two planes are only 0.5° apart: where they meet is 115 times less certain than they are.',
    },
  ]);
});

test('a line along a plane pierces it nowhere', () => {
  const error = refusal(() => intersectLinePlane(line([0, 0, 3], [1, 1, 0]), plane([0, 0, 0], [0, 0, 1])));
  expect(error.code).toBe('parallel');
  expect(error.message).toBe('The line runs parallel to the plane to within 0°, 3 mm off it: they meet in no point.');
});

test('three planes of a prism, each at 60° to the next, meet in no point', () => {
  const sides = [0, 60, 120].map((a) =>
    plane([Math.cos(a * degrees), Math.sin(a * degrees), 0], [Math.cos(a * degrees), Math.sin(a * degrees), 0]),
  ) as [Plane, Plane, Plane];
  const error = refusal(() => intersectThreePlanes(...sides));
  expect(error.code).toBe('parallel');
  expect(error.message).toMatch(/^The line of the \w+ and the \w+ plane runs parallel to the \w+ to within 0°/);
  const two = refusal(() => intersectThreePlanes(sides[0], tilted(0), tilted(0, [0, 0, 4])));
  expect(two.message).toBe('The second and the third plane are parallel to within 0°: the three meet in no point.');
});

test('lines that pass 0.3 mm apart meet midway; 2 mm apart they meet nowhere', () => {
  const a = line([0, 0, 0], [1, 0, 0]);
  expect(intersectLines(a, line([5, 7, 0.3], [0, 1, 0])).feature.position).toEqual([5, 0, 0.15]);
  const error = refusal(() => intersectLines(a, line([5, 7, 2], [0, 1, 0])));
  expect(error.code).toBe('skew');
  expect(error.message).toBe(
    'The two lines pass each other 2 mm apart, more than the 1 mm allowed: they meet in no point.',
  );
  expect(intersectLines(a, line([5, 7, 2], [0, 1, 0]), { within: 2 }).feature.position).toEqual([5, 0, 1]);
  expect(refusal(() => intersectLines(a, line([0, 1, 0], [-1, 0, 0]))).code).toBe('parallel');
});

test('what does not meet is named', () => {
  const error = refusal(() => intersect([tilted(0), { kind: 'sphere', center: [0, 0, 0], radius: 1 }]));
  expect(error.code).toBe('wrong-kind');
  expect(error.message).toBe(
    'There is no axis in a sphere. Use a line, a circle, a cylinder, a cone, a slot or an ellipse.',
  );
  expect(refusal(() => intersect([line([0, 0, 0], [1, 0, 0]), tilted(0), tilted(1)])).message).toBe(
    'Two planes, three planes, a plane and an axis, or two axes meet; a line, a plane and a plane do not.',
  );
});

test('planes with coordinates that are not finite meet in an error', () => {
  const broken = plane([Number.POSITIVE_INFINITY, 0, 0], [1, 0, 0]);
  expect(refusal(() => intersectPlanes(broken, plane([0, 0, 0], [0, 1, 0]))).code).toBe('not-finite');
  // A normal without length points nowhere.
  expect(refusal(() => intersectPlanes({ ...broken, normal: [0, 0, 0] }, tilted(0))).code).toBe('no-direction');
});
