import { seededRandom, type Vec3, vec3 } from '@fettle/geom';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  coneExtent,
  cylinderExtent,
  lineExtent,
  planeExtent,
  sphereExtent,
} from '../../packages/io/src/step/extent.js';
import { smallestRectangle } from '../../packages/io/src/step/smallest-rectangle.js';

const { addScaled, cross, distance, dot, normalize, perpendiculars, subtract } = vec3;
const flatOf = (points: readonly Vec3[]): Float64Array => Float64Array.from(points.flat());

describe('The smallest rectangle about points', () => {
  test('is the rectangle they fill, however it is turned', () => {
    const random = seededRandom(7);
    for (const count of [40, 20_000]) {
      const [cos, sin] = [Math.cos(0.3), Math.sin(0.3)];
      const corners = [
        [0, 0],
        [40, 0],
        [40, 15],
        [0, 15],
      ] as const;
      const inside = Array.from({ length: count }, () => [40 * random.next(), 15 * random.next()] as const);
      const xy = [...inside, ...corners].flatMap(([u, v]) => [7 + cos * u - sin * v, -3 + sin * u + cos * v]);
      const found = smallestRectangle(Float64Array.from(xy));
      expect(found.size[0]).toBeCloseTo(40, 9);
      expect(found.size[1]).toBeCloseTo(15, 9);
      expect(Math.abs(found.along[0] * cos + found.along[1] * sin)).toBeCloseTo(1, 9);
      expect(found.center[0]).toBeCloseTo(7 + cos * 20 - sin * 7.5, 9);
      expect(found.center[1]).toBeCloseTo(-3 + sin * 20 + cos * 7.5, 9);
    }
  });

  test('holds all points, and none turned another way is smaller', () => {
    const point = fc.tuple(
      fc.double({ min: -50, max: 50, noNaN: true }),
      fc.double({ min: -50, max: 50, noNaN: true }),
    );
    fc.assert(
      fc.property(
        fc.array(point, { minLength: 3, maxLength: 60 }),
        fc.double({ min: 0, max: Math.PI, noNaN: true }),
        (points, angle) => {
          const { center, along, size } = smallestRectangle(Float64Array.from(points.flat()));
          for (const [x, y] of points) {
            const [dx, dy] = [x - center[0], y - center[1]];
            expect(Math.abs(along[0] * dx + along[1] * dy)).toBeLessThanOrEqual(size[0] / 2 + 1e-9);
            expect(Math.abs(along[0] * dy - along[1] * dx)).toBeLessThanOrEqual(size[1] / 2 + 1e-9);
          }
          const extent = (a: number) => {
            const s = points.map(([x, y]) => Math.cos(a) * x + Math.sin(a) * y);
            return Math.max(...s) - Math.min(...s);
          };
          expect(size[0] * size[1]).toBeLessThanOrEqual(extent(angle) * extent(angle + Math.PI / 2) + 1e-6);
        },
      ),
      { numRuns: 300, seed: 3 },
    );
  });

  test('thousands of points on a circle, all of them corners', () => {
    const count = 5000;
    const xy = Array.from({ length: count }, (_, i) => [
      Math.cos((2 * Math.PI * i) / count),
      Math.sin((2 * Math.PI * i) / count),
    ]);
    const { size, center } = smallestRectangle(Float64Array.from(xy.flat()));
    expect(size[0]).toBeCloseTo(2, 5);
    expect(size[1]).toBeCloseTo(2, 5);
    expect(Math.hypot(...center)).toBeLessThan(1e-6);
  });

  test('of points in a row it is as long as they, and has no width', () => {
    const { size, along } = smallestRectangle(Float64Array.of(0, 0, 3, 4, 6, 8, 1.5, 2));
    expect(size[0]).toBeCloseTo(10, 12);
    expect(size[1]).toBeCloseTo(0, 12);
    expect(Math.abs(along[0] * 0.6 + along[1] * 0.8)).toBeCloseTo(1, 12);
  });
});

describe('Features reach as far as their points', () => {
  const axis = normalize([1, 2, -0.5]);
  const [u, v] = perpendiculars(axis);
  const on: Vec3 = [10, -20, 30];
  const at = (angle: number, radius: number, along: number): Vec3 =>
    addScaled(addScaled(addScaled(on, u, radius * Math.cos(angle)), v, radius * Math.sin(angle)), axis, along);
  const arc = (from: number, to: number, radius: (along: number) => number, low: number, high: number): Vec3[] =>
    Array.from({ length: 41 }, (_, i) => from + ((to - from) * i) / 40).flatMap((angle) =>
      [low, (low + high) / 2, high].map((along) => at(angle, radius(along), along)),
    );

  test.each([
    ['a quarter', 0.4, 0.4 + Math.PI / 2],
    ['across where angles jump', 2.5, 4.5],
    ['three quarters', -2, 2.8],
  ])('%s of a cylinder', (_, from, to) => {
    const cylinder = { kind: 'cylinder', point: on, direction: axis, radius: 5 } as const;
    const { span, turn } = cylinderExtent(cylinder, flatOf(arc(from, to, () => 5, -3, 11)));
    expect(span[0]).toBeCloseTo(-3, 9);
    expect(span[1]).toBeCloseTo(11, 9);
    expect(turn!.sweep).toBeCloseTo(to - from, 9);
    expect(distance(addScaled(on, turn!.start, 5), at(from, 5, 0))).toBeLessThan(1e-9);
  });

  test('a cylinder with a groove of 20° along it goes all around', () => {
    const cylinder = { kind: 'cylinder', point: on, direction: axis, radius: 5 } as const;
    const groove = (20 * Math.PI) / 180;
    expect(cylinderExtent(cylinder, flatOf(arc(0, 2 * Math.PI - groove, () => 5, 0, 9))).turn).toBeUndefined();
  });

  test('part of a cone, from its apex on', () => {
    const cone = { kind: 'cone', apex: on, direction: axis, halfAngle: 0.4 } as const;
    const points = arc(1, 4, (along) => along * Math.tan(0.4), 2, 8);
    const { span, turn } = coneExtent(cone, flatOf(points));
    expect(span[0]).toBeCloseTo(2, 9);
    expect(span[1]).toBeCloseTo(8, 9);
    expect(turn!.sweep).toBeCloseTo(3, 9);
    // Noise about the apex puts points behind it; the cone does not go there.
    expect(coneExtent(cone, flatOf([...points, at(0, 0.1, -0.05)])).span[0]).toBe(0);
  });

  test('a cap of a sphere, and the whole of it', () => {
    const sphere = { kind: 'sphere', center: on, radius: 6 } as const;
    const cap = (halfAngle: number) =>
      flatOf(
        [0, 0.5, 1].flatMap((share) =>
          arc(0, (2 * Math.PI * 40) / 41, () => 6 * Math.sin(share * halfAngle), 0, 0).map((p) =>
            addScaled(p, axis, 6 * Math.cos(share * halfAngle)),
          ),
        ),
      );
    const { cap: found } = sphereExtent(sphere, cap(1.1));
    expect(found!.halfAngle).toBeCloseTo(1.1, 9);
    expect(dot(found!.toward, axis)).toBeCloseTo(1, 9);
    expect(sphereExtent(sphere, cap(3)).cap).toBeUndefined();
  });

  test('a line between its farthest points; the axis of a circle as long as the circle is wide', () => {
    const line = { kind: 'line', point: on, direction: axis } as const;
    const ends = lineExtent(line, flatOf([-4, 0, 17].map((s) => addScaled(on, axis, s)))).span;
    expect(ends[0]).toBeCloseTo(-4, 9);
    expect(ends[1]).toBeCloseTo(17, 9);
    const [low, high] = lineExtent(line, flatOf(arc(0, 6, () => 9, 3, 3))).span;
    expect(high - low).toBeCloseTo(9, 9);
    expect((high + low) / 2).toBeCloseTo(3, 9);
  });

  test('a plane under all its points, whose own point may lie elsewhere', () => {
    const plane = { kind: 'plane', point: on, normal: axis } as const;
    const points = [0, 30].flatMap((a) => [50, 60].map((b) => addScaled(addScaled(on, u, a), v, b)));
    const found = planeExtent(plane, flatOf(points));
    expect(found.size[0]).toBeCloseTo(30, 9);
    expect(found.size[1]).toBeCloseTo(10, 9);
    expect(distance(found.point, addScaled(addScaled(on, u, 15), v, 55))).toBeLessThan(1e-9);
    expect(Math.hypot(...cross(found.along, u))).toBeLessThan(1e-9);
    expect(Math.abs(dot(subtract(found.point, on), axis))).toBeLessThan(1e-9);
  });
});
