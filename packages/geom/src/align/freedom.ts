import { symmetricEigen } from '../math/symmetric-eigen.js';
import type { Vec3 } from '../math/vec3.js';
import { composed, inverse, type Rigid, screwOf, smallMove } from './rigid.js';

/** Motions near a pose in one scale: shift in mm, and turn about `center` in mm at `reach` from it. */
export interface Ways {
  readonly center: Vec3;
  /** mm */
  readonly reach: number;
}

/** Six numbers of unit length: shift, and turn times the reach. */
export type Way = readonly number[];

/** The motion along a way by so many mm. */
export function along(way: Way, mm: number, { center, reach }: Ways): Rigid {
  const s = way.map((w) => w * mm);
  return smallMove([s[0], s[1], s[2]], [s[3] / reach, s[4] / reach, s[5] / reach], center);
}

/** How far apart two poses are, mm at the reach, when one may be moved along the free ways. */
export function apart(a: Rigid, b: Rigid, { center, reach }: Ways, free: readonly Way[] = []): number {
  const { shift, turn } = screwOf(composed(a, inverse(b)), center);
  const s = [...shift, ...turn.map((t) => t * reach)];
  for (const way of free) {
    const along = way.reduce((sum, w, k) => sum + w * s[k], 0);
    for (let k = 0; k < 6; k++) s[k] -= along * way[k];
  }
  return Math.hypot(...s);
}

/** The six ways and how well each is held: the mean square of what a mm along it moves the surface along its normal, least first. */
export function held(
  { center, reach }: Ways,
  count: number,
  place: Float64Array,
  normal: Float64Array,
  weights?: Float64Array,
): { readonly values: readonly number[]; readonly ways: readonly Way[] } {
  const matrix = new Float64Array(36);
  const j = new Float64Array(6);
  let total = 0;
  for (let i = 0; i < count; i++) {
    const w = weights ? weights[i] : 1;
    if (w === 0) continue;
    total += w;
    const x = (place[3 * i] - center[0]) / reach;
    const y = (place[3 * i + 1] - center[1]) / reach;
    const z = (place[3 * i + 2] - center[2]) / reach;
    const nx = normal[3 * i];
    const ny = normal[3 * i + 1];
    const nz = normal[3 * i + 2];
    j[0] = nx;
    j[1] = ny;
    j[2] = nz;
    j[3] = y * nz - z * ny;
    j[4] = z * nx - x * nz;
    j[5] = x * ny - y * nx;
    for (let a = 0; a < 6; a++) for (let b = 0; b < 6; b++) matrix[6 * a + b] += w * j[a] * j[b];
  }
  for (let k = 0; k < 36; k++) matrix[k] /= total;
  const { values, vectors } = symmetricEigen(matrix, 6);
  return { values, ways: vectors };
}

/** Middle of places, and the root mean square distance from it. */
export function waysAbout(size: number, place: Float64Array): Ways {
  let [x, y, z] = [0, 0, 0];
  for (let i = 0; i < size; i++) {
    x += place[3 * i] / size;
    y += place[3 * i + 1] / size;
    z += place[3 * i + 2] / size;
  }
  let sum = 0;
  for (let i = 0; i < size; i++)
    sum += (place[3 * i] - x) ** 2 + (place[3 * i + 1] - y) ** 2 + (place[3 * i + 2] - z) ** 2;
  return { center: [x, y, z], reach: Math.sqrt(sum / size) };
}
