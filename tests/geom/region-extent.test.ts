import { createScan, regionArea, regionSpread, type Scan } from '@fettle/geom';
import { expect, test } from 'vitest';

/** A half-tube about z of radius 10 and length 30, points every 180°/n around; normals outward. */
function halfTube(n: number): Scan {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i <= n; i++)
    for (const z of [0, 30]) {
      const turn = (Math.PI * i) / n;
      positions.push(10 * Math.cos(turn), 10 * Math.sin(turn), z);
    }
  for (let i = 0; i < n; i++) triangles.push(2 * i, 2 * i + 2, 2 * i + 1, 2 * i + 1, 2 * i + 2, 2 * i + 3);
  return createScan({ positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) });
}
const everything = (scan: Scan): Uint32Array => Uint32Array.from({ length: scan.positions.length / 3 }, (_, p) => p);

test('the area of a region is that of its triangles: of n flats of a tube, n chords times its length', () => {
  const tube = halfTube(36);
  const chord = 2 * 10 * Math.sin(Math.PI / 72);
  expect(regionArea(tube, everything(tube))).toBeCloseTo(36 * chord * 30, 9);
  // The first five flats lie between the first six pairs of points.
  expect(
    regionArea(
      tube,
      Uint32Array.from({ length: 12 }, (_, p) => p),
    ),
  ).toBeCloseTo(5 * chord * 30, 9);
  // Points that share no triangle span none.
  expect(regionArea(tube, Uint32Array.of(0, 10, 20))).toBe(0);
});

test('a region turns by half the angle around it', () => {
  const tube = halfTube(36);
  // From the second to the eleventh pair: nine steps of 5°, from whose middle the ends are 22.5° off.
  const part = Uint32Array.from({ length: 20 }, (_, p) => p + 2);
  expect(regionSpread(tube, part)).toBeCloseTo((22.5 * Math.PI) / 180, 5);
  expect(regionSpread(tube, Uint32Array.of(8))).toBeCloseTo(0, 3);
});

test('of a cloud: no area, and the turn of the normals it came with', () => {
  const positions = Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0);
  const bare = createScan({ positions });
  expect(regionArea(bare, everything(bare))).toBeUndefined();
  expect(regionSpread(bare, everything(bare))).toBe(0);
  const [cos, sin] = [Math.cos(0.4), Math.sin(0.4)];
  const cloud = createScan({ positions, normals: Float32Array.of(sin, 0, cos, -sin, 0, cos, 0, 0, 0) });
  expect(regionSpread(cloud, everything(cloud))).toBeCloseTo(0.4, 6);
  const against = createScan({ positions, normals: Float32Array.of(1, 0, 0, -1, 0, 0, 0, 0, 0) });
  expect(regionSpread(against, everything(against))).toBe(Math.PI);
});
