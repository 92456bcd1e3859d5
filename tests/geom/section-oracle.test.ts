import {
  boundaryEdges,
  createScan,
  cutMesh,
  type Mesh,
  sectionArea,
  sectionLength,
  transformScan,
  type Vec3,
} from '@fettle/geom';
import bunny from 'bunny';
import Module, { type Manifold } from 'manifold-3d';
import { beforeAll, describe, expect, it } from 'vitest';
import { placement, put, without } from './section-solids.js';

/** manifold-3d slices closed meshes at a height: an implementation of its own, in another language. */
describe('areas that manifold-3d finds', () => {
  let solids: Record<string, Manifold>;

  beforeAll(async () => {
    const wasm = await Module();
    wasm.setup();
    const { Manifold } = wasm;
    const plate = Manifold.cube([60, 40, 8], true);
    const drilled = plate
      .subtract(Manifold.cylinder(20, 6, 6, 64, true))
      .subtract(Manifold.cylinder(20, 3, 5, 48, true).translate([20, 10, 0]))
      .add(Manifold.sphere(9, 80).translate([-20, -8, 5]))
      .rotate([23, 31, 11]);
    const wavy = Manifold.cube([30, 30, 30], true)
      .refine(12)
      .warp((p) => {
        p[0] += 2 * Math.sin(p[2] / 3);
        p[1] += Math.cos(p[0] / 4);
      });
    const lattice = Manifold.union(
      [0, 1, 2].flatMap((i) => [0, 1, 2].map((j) => Manifold.sphere(4.5, 40).translate([8 * i, 8 * j, i - j]))),
    );
    solids = { drilled, wavy, lattice };
  });

  it.each(['drilled', 'wavy', 'lattice'])('%s', (name) => {
    const solid = solids[name];
    const { vertProperties, triVerts, numProp } = solid.getMesh();
    const count = vertProperties.length / numProp;
    const scan = createScan({
      positions: Array.from({ length: 3 * count }, (_, i) => vertProperties[Math.floor(i / 3) * numProp + (i % 3)]),
      triangles: triVerts,
      name,
    });
    const box = solid.boundingBox();
    for (let i = 1; i < 40; i++) {
      const z = box.min[2] + ((box.max[2] - box.min[2]) * i) / 40;
      const section = cutMesh(scan, { point: [0, 0, z], normal: [0, 0, 1] });
      const slice = solid.slice(z);
      // Its meshes are single precision.
      expect(Math.abs(sectionArea(section) - slice.area())).toBeLessThan(1e-5 * slice.area() + 1e-5);
      expect(section.polylines.every((p) => p.closed)).toBe(true);
      slice.delete();
    }
  });
});

describe('the Stanford bunny', () => {
  const scan = createScan({
    positions: bunny.positions.flat(),
    triangles: bunny.cells.flat(),
    name: 'bunny',
  }) as Mesh;
  const { positions, triangles } = scan;

  /** The pieces of plane inside each triangle, one triangle at a time, with no thought of joining them. */
  const byTriangle = (point: Vec3, normal: Vec3): number[] => {
    const lengths: number[] = [];
    for (let t = 0; t < triangles.length; t += 3) {
      const corners = [0, 1, 2].map((k) => Array.from(positions.slice(3 * triangles[t + k], 3 * triangles[t + k] + 3)));
      const d = corners.map((p) => normal.reduce((sum, n, k) => sum + n * (p[k] - point[k]), 0));
      const met = [0, 1, 2].flatMap((k) => {
        const j = (k + 1) % 3;
        if (d[k] < 0 === d[j] < 0) return [];
        return [corners[k].map((c, i) => c + (d[k] / (d[k] - d[j])) * (corners[j][i] - c))];
      });
      if (met.length === 2) lengths.push(Math.hypot(...met[0].map((c, i) => c - met[1][i])));
    }
    return lengths;
  };

  it.each([
    [
      [0, 5, 0],
      [0, 1, 0],
    ],
    [
      [0, 1, 0],
      [0.1, 1, 0.2],
    ],
    [
      [-2, 5, 0],
      [1, 0.3, 0.1],
    ],
    [
      [-1, 5, 0.5],
      [0, 0.4, 1],
    ],
    [
      [0, 0.36, 0],
      [0, 1, 0],
    ],
  ] as [Vec3, Vec3][])('cut through %j along %j: every segment once', (point, normal) => {
    const alone = byTriangle(point, normal);
    const section = cutMesh(scan, { point, normal });
    const segments = section.polylines.reduce((sum, p) => sum + p.points.length / 3 - (p.closed ? 0 : 1), 0);
    expect(segments).toBe(alone.filter((l) => l > 0).length);
    expect(sectionLength(section)).toBeCloseTo(
      alone.reduce((sum, l) => sum + l, 0),
      9,
    );
  });

  it('closed as it is gives closed outlines; with triangles lost, each border crossed is an end', () => {
    const torn = without(scan, (t) => t % 29 === 3 || (t > 400 && t < 460));
    const border = boundaryEdges(torn);
    for (const y of [0.36, 0.4, 1, 3, 7]) {
      const plane = { point: [0, y, 0] as Vec3, normal: [0, 1, 0] as Vec3 };
      expect(cutMesh(scan, plane).polylines.every((p) => p.closed)).toBe(true);
      let crossed = 0;
      for (let e = 0; e < border.length; e += 2)
        if (positions[3 * border[e] + 1] < y !== positions[3 * border[e + 1] + 1] < y) crossed++;
      expect(crossed).toBeGreaterThan(0);
      expect(2 * cutMesh(torn, plane).polylines.filter((p) => !p.closed).length).toBe(crossed);
    }
  });

  it('is the same bunny ten meters away and turned', () => {
    const m = placement(1, 2, 3, [10_000, -10_000, 5_000]);
    const here = cutMesh(scan, { point: [0, 4, 0], normal: [0, 1, 0] });
    const there = cutMesh(transformScan(scan, m), { point: put(m, [0, 4, 0]), normal: put(m, [0, 1, 0], 0) });
    expect(there.polylines.map((p) => p.points.length)).toEqual(here.polylines.map((p) => p.points.length));
    expect(sectionArea(there)).toBeCloseTo(sectionArea(here), 7);
  });
});
