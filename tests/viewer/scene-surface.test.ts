import { type BufferGeometry, Color, type Mesh, Points, Sphere, Vector3 } from 'three';
import { expect, test } from 'vitest';
import { MARK, Surface, type SurfaceColors } from '../../packages/viewer/src/scene/surface.js';
import type { DrawnSurface } from '../../packages/viewer/src/worker/protocol.js';

const gray = new Color('#888');
const colors = Object.fromEntries(
  ['skin', 'inside', 'draft', 'selected', 'rejected', 'low', 'middle', 'high'].map((name) => [name, gray]),
) as unknown as SurfaceColors;

/** A strip of eight triangles over ten points. */
const strip: DrawnSurface = {
  origin: [100, 200, 300],
  positions: Float32Array.from(Array.from({ length: 10 }, (_, p) => [p, p % 2, 0]).flat()),
  triangles: Uint32Array.from(Array.from({ length: 8 }, (_, t) => [t, t + 1, t + 2]).flat()),
  normals: new Int8Array(30).fill(127),
};
/** Every other point of it. */
const few: DrawnSurface = {
  origin: strip.origin,
  positions: Float32Array.from([0, 2, 4, 6, 8].flatMap((p) => [...strip.positions.subarray(3 * p, 3 * p + 3)])),
  triangles: Uint32Array.of(0, 1, 2, 2, 3, 4),
  normals: new Int8Array(15).fill(127),
  points: Uint32Array.of(0, 2, 4, 6, 8),
};
const bounds = new Sphere(new Vector3(), 12);
const partsOf = (surface: Surface): Mesh<BufferGeometry>[] => surface.group.children as Mesh<BufferGeometry>[];
const marksOf = (mesh: Mesh<BufferGeometry> | undefined): number[] => [
  ...(mesh!.geometry.getAttribute('mark').array as Uint8Array),
];

test('arrays of the worker go to the graphics card as they are, and the bounding sphere is given', () => {
  const [full] = partsOf(new Surface(strip, few, bounds, colors));
  expect(full!.geometry.getAttribute('position').array).toBe(strip.positions);
  expect(full!.geometry.getAttribute('normal').array).toBe(strip.normals);
  expect(full!.geometry.index!.array).toBe(strip.triangles);
  expect(full!.geometry.boundingSphere).toBe(bounds);
});

test('marks later in the list lie over earlier ones, on the reduced copy too', () => {
  const surface = new Surface(strip, few, bounds, colors);
  surface.mark([
    { points: Uint32Array.of(0, 1, 2, 3, 4), mark: MARK.selected },
    { points: Uint32Array.of(4, 5), mark: MARK.rejected },
  ]);
  const [s, r] = [MARK.selected, MARK.rejected];
  expect(marksOf(partsOf(surface)[0])).toEqual([s, s, s, s, r, r, 0, 0, 0, 0]);
  expect(marksOf(partsOf(surface)[1])).toEqual([s, s, r, 0, 0]);
  surface.mark([]);
  expect(marksOf(partsOf(surface)[0])).toEqual(new Array(10).fill(0));
  expect(marksOf(partsOf(surface)[1])).toEqual(new Array(5).fill(0));
});

test('residuals stand at the points they belong to, on the reduced copy too', () => {
  const surface = new Surface(strip, few, bounds, colors);
  const points = Uint32Array.of(8, 3, 2);
  surface.mark([{ points, mark: MARK.mapped, residuals: Float32Array.of(0.5, -0.25, 0.125) }]);
  const [full, reduced] = partsOf(surface).map((mesh) => mesh.geometry.getAttribute('residual').array);
  expect([full![8], full![3], full![2]]).toEqual([0.5, -0.25, 0.125]);
  expect([reduced![4], reduced![1]]).toEqual([0.5, 0.125]);
});

test('one of the two copies is shown: the reduced one while moving, where there is one', () => {
  const surface = new Surface(strip, few, bounds, colors);
  const shown = (of: Surface) => partsOf(of).map(({ visible }) => visible);
  expect(shown(surface)).toEqual([true, false]);
  surface.showReduced(true);
  expect(shown(surface)).toEqual([false, true]);
  const alone = new Surface(strip, undefined, bounds, colors);
  alone.showReduced(true);
  expect(shown(alone)).toEqual([true]);
});

test('without triangles points are drawn, with colors the scan can be painted', () => {
  const { triangles: _, ...cloud } = strip;
  const surface = new Surface({ ...cloud, colors: new Uint8Array(30).fill(9) }, undefined, bounds, colors);
  expect(partsOf(surface)[0]).toBeInstanceOf(Points);
  expect(surface.isPaintable).toBe(true);
  expect(new Surface(strip, few, bounds, colors).isPaintable).toBe(false);
});
