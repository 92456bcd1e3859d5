import {
  createScan,
  type Mesh,
  memoryOfIndex,
  packIndex,
  pointIndex,
  seededRandom,
  spatialIndex,
  transformScan,
  unpackIndex,
  type Vec3,
} from '@fettle/geom';
import { Triangle, Vector3 } from 'three';
import { describe, expect, it } from 'vitest';
import { box, cloudOf, placement, put, sphere, torus } from './section-solids.js';

const random = seededRandom(21);
const anywhere = (size: number): Vec3 => [0, 1, 2].map(() => size * (random.next() - 0.5)) as unknown as Vec3;
const cloud = (count: number, size: number, far: Vec3 = [0, 0, 0]) =>
  createScan({
    positions: Array.from({ length: count }, () => anywhere(size)).flatMap((p) => p.map((c, k) => c + far[k])),
  });

const distances = (positions: Float64Array, [x, y, z]: Vec3): number[] =>
  Array.from({ length: positions.length / 3 }, (_, p) =>
    Math.hypot(positions[3 * p] - x, positions[3 * p + 1] - y, positions[3 * p + 2] - z),
  );

describe('an index of points answers as looking at every point does', () => {
  // Ten meters from the origin, where single precision would tell 0.001 mm apart at best.
  const scan = cloud(3000, 100, [10_000, -10_000, 5_000]);
  const index = spatialIndex(scan);
  const asked = Array.from(
    { length: 200 },
    () => anywhere(160).map((c, k) => c + [10_000, -10_000, 5_000][k]) as unknown as Vec3,
  );

  it('nearest', () => {
    for (const place of asked) {
      const all = distances(scan.positions, place);
      const found = index.nearest(place)!;
      expect(found.element).toBe(all.indexOf(Math.min(...all)));
      expect(found.distance).toBeCloseTo(all[found.element], 11);
      expect(index.nearest(place, found.distance * 0.999)).toBeUndefined();
      expect(index.nearest(place, found.distance * 1.001)).toEqual(found);
    }
  });

  it('the nearest few, nearest first', () => {
    for (const place of asked.slice(0, 60)) {
      const all = distances(scan.positions, place);
      const order = all.map((_, p) => p).sort((a, b) => all[a] - all[b]);
      expect(Array.from(pointIndex(scan).nearestPoints(place, 17))).toEqual(order.slice(0, 17));
    }
    expect(pointIndex(scan).nearestPoints([0, 0, 0], 5000)).toHaveLength(3000);
  });

  it('within a radius', () => {
    for (const place of asked.slice(0, 60)) {
      const all = distances(scan.positions, place);
      expect(Array.from(index.within(place, 20))).toEqual(all.flatMap((d, p) => (d <= 20 ? [p] : [])));
    }
  });

  it('in a box', () => {
    for (const low of asked.slice(0, 60)) {
      const high = low.map((c) => c + 30) as unknown as Vec3;
      const expected = Array.from({ length: 3000 }, (_, p) => p).filter((p) =>
        [0, 1, 2].every((k) => scan.positions[3 * p + k] >= low[k] && scan.positions[3 * p + k] <= high[k]),
      );
      expect(Array.from(index.box({ min: low, max: high }))).toEqual(expected);
    }
  });

  it('along a ray', () => {
    for (const place of asked.slice(0, 60)) {
      const direction = anywhere(2);
      const size = Math.hypot(...direction);
      let first = -1;
      let least = Infinity;
      for (let p = 0; p < 3000; p++) {
        const d = [0, 1, 2].map((k) => scan.positions[3 * p + k] - place[k]);
        const along = d.reduce((sum, c, k) => sum + (c * direction[k]) / size, 0);
        const off = Math.hypot(...d.map((c, k) => c - (along * direction[k]) / size));
        if (along < 0 || along >= least || off > 3) continue;
        least = along;
        first = p;
      }
      const found = index.ray(place, direction, 3);
      expect(found?.element ?? -1).toBe(first);
      if (found) expect(found.distance).toBeCloseTo(least, 9);
    }
  });

  it('only among those selected', () => {
    const select = Uint32Array.from({ length: 1000 }, (_, i) => 3 * i);
    const some = spatialIndex({ ...scan, select });
    for (const place of asked.slice(0, 40)) {
      const all = distances(scan.positions, place);
      const best = Array.from(select).reduce((a, b) => (all[b] < all[a] ? b : a));
      expect(some.nearest(place)!.element).toBe(best);
      expect(Array.from(some.within(place, 25))).toEqual(Array.from(select).filter((p) => all[p] <= 25));
    }
  });

  it('with a hundred thousand points in one place', () => {
    const heap = createScan({ positions: Float64Array.from({ length: 300_003 }, (_, i) => (i < 300_000 ? 1 : 2)) });
    expect(spatialIndex(heap).within([1, 1, 1], 0.5)).toHaveLength(100_000);
    expect(spatialIndex(heap).nearest([3, 3, 3])!.element).toBe(100_000);
    expect(pointIndex(heap).nearestOther(5)).toBeCloseTo(Math.sqrt(3), 14);
  });

  it('is built once for a scan', () => {
    expect(spatialIndex(scan)).toBe(index);
    expect(spatialIndex({ ...scan, name: 'other' })).toBe(index);
  });
});

describe('an index of triangles', () => {
  const m = placement(0.5, 1, 1.5, [3000, -2000, 1000]);
  const mesh = transformScan(torus(20, 6, 96), m);
  const index = spatialIndex(mesh);
  // The distance from a torus, from the distance from its middle circle.
  const offTorus = ([x, y, z]: Vec3): number => Math.hypot(Math.hypot(x, y) - 20, z) - 6;
  const chordError = 6 * (1 - Math.cos(Math.PI / 96)) + 26 * (1 - Math.cos(Math.PI / 96));

  it('is as far from a place as the solid is', () => {
    for (let i = 0; i < 300; i++) {
      const place = anywhere(60);
      const found = index.nearest(put(m, place))!;
      expect(Math.abs(found.distance - Math.abs(offTorus(place)))).toBeLessThan(chordError);
      const gap = Math.hypot(...found.position.map((c, k) => c - put(m, place)[k]));
      expect(found.distance).toBeCloseTo(gap, 10);
    }
  });

  it('agrees with a box, where distances are known exactly', () => {
    const solid = spatialIndex(box(3, 4, 5));
    for (let i = 0; i < 200; i++) {
      const place = anywhere(20);
      const outside = [3, 4, 5].map((size, k) => Math.max(-place[k], 0, place[k] - size));
      const inside = Math.min(...[3, 4, 5].flatMap((size, k) => [place[k], size - place[k]]));
      expect(solid.nearest(place)!.distance).toBeCloseTo(inside > 0 ? inside : Math.hypot(...outside), 12);
    }
  });

  it('finds the triangles within a radius: those that three finds one by one', () => {
    const { positions, triangles } = mesh as Mesh;
    const at = (p: number) => new Vector3(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
    for (const [place, radius] of [
      [put(m, [22, 3, 4]), 5],
      [put(m, [0, 0, 0]), 15],
      [put(m, [20, 0, 0]), 6.01],
    ] as const) {
      const expected: number[] = [];
      for (let t = 0; t < triangles.length / 3; t++) {
        const [a, b, c] = [0, 1, 2].map((k) => at(triangles[3 * t + k]));
        const near = new Triangle(a, b, c).closestPointToPoint(new Vector3(...place), new Vector3());
        if (near.distanceTo(new Vector3(...place)) <= radius) expected.push(t);
      }
      expect(expected.length).toBeGreaterThan(20);
      expect(Array.from(index.within(place, radius))).toEqual(expected);
    }
  });

  it('finds the triangles that touch a box, also those that only pass through it', () => {
    const solid = spatialIndex(box(10, 10, 10));
    expect(solid.box({ min: [1, 1, 1], max: [9, 9, 9] })).toHaveLength(0);
    expect(solid.box({ min: [4, 4, -1], max: [5, 5, 1] })).toHaveLength(2);
    expect(solid.box({ min: [1, 6, -1], max: [2, 7, 1] })).toHaveLength(1);
    expect(solid.box({ min: [-1, -1, -1], max: [11, 11, 11] })).toHaveLength(12);
    expect(solid.box({ min: [10, 10, 10], max: [12, 12, 12] }).length).toBeGreaterThanOrEqual(3);
  });

  it('is met by rays where the sphere is', () => {
    const ball = spatialIndex(sphere(10, 200));
    for (let i = 0; i < 200; i++) {
      const from = anywhere(8);
      const direction = anywhere(2);
      const size = Math.hypot(...direction);
      // From inside: the root of |p + t d| = 10.
      const along = from.reduce((sum, c, k) => sum + (c * direction[k]) / size, 0);
      const expected = -along + Math.sqrt(along ** 2 + 100 - Math.hypot(...from) ** 2);
      const found = ball.ray(from, direction)!;
      expect(Math.abs(found.distance - expected)).toBeLessThan(0.02);
      // Nor is there a gap at edges and corners: the way back is blocked too.
      expect(ball.ray(from, direction.map((c) => -c) as unknown as Vec3)).toBeDefined();
    }
    expect(ball.ray([20, 0, 0], [1, 0, 0])).toBeUndefined();
    expect(ball.ray([20, 0, 0], [-2, 0, 0])!.distance).toBeCloseTo(10, 12);
  });

  it('lets no ray through an edge or a corner', () => {
    const solid = spatialIndex(box(2, 2, 2));
    for (let i = 0; i <= 20; i++) expect(solid.ray([i / 10, i / 10, 9], [0, 0, -1])!.distance).toBeCloseTo(7, 14);
    for (const corner of [
      [0, 0, 0],
      [2, 0, 0],
      [0, 2, 2],
    ] as Vec3[])
      expect(solid.ray([1, 1, 1], corner.map((c) => c - 1) as unknown as Vec3)!.distance).toBeCloseTo(Math.sqrt(3), 14);
  });

  it('of a mesh is over triangles, of a cloud over points', () => {
    expect(spatialIndex(box(1, 1, 1)).elements).toBe('triangles');
    expect(spatialIndex(cloudOf(box(1, 1, 1))).elements).toBe('points');
  });
});

describe('an index that another thread builds', () => {
  const mesh = torus(30, 8, 60);
  const points = cloud(500, 40);
  const some = { ...points, select: Uint32Array.from({ length: 200 }, (_, i) => 2 * i) };

  it.each([
    ['of triangles', mesh],
    ['of points', points],
    ['of some points', some],
  ])('%s passes between threads and answers as the scan’s own does', (_, scan) => {
    const packed = packIndex(scan);
    const own = spatialIndex({ ...scan, ...(scan.triangles && { triangles: scan.triangles.slice() }) });
    const sent = structuredClone(packed, { transfer: memoryOfIndex(packed) });
    expect(packed.tree.order).toHaveLength(0);
    const index = unpackIndex(scan, sent);
    expect(spatialIndex(scan)).toBe(index);
    for (let i = 0; i < 100; i++) {
      const place = anywhere(80);
      expect(index.nearest(place)).toEqual(own.nearest(place));
      expect(index.within(place, 5)).toEqual(own.within(place, 5));
    }
  });

  it('is refused for another scan', () => {
    expect(() => unpackIndex(mesh, packIndex(points))).toThrow(
      /an index of 500 points is not that of a scan of [\d,]+ triangles/,
    );
    expect(() => unpackIndex(points, packIndex(some))).toThrow(expect.objectContaining({ code: 'index-of-another' }));
  });
});
