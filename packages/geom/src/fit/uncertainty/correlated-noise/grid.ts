import type { Vec3 } from '../../../math/vec3.js';

const MOST_CELLS = 1 << 17;

/** Cubes of side `step` from `corner`. */
export interface Grid {
  readonly corner: Vec3;
  readonly step: number;
  readonly nu: number;
  readonly nv: number;
  readonly nw: number;
  /** Longest extent of the points, mm. */
  readonly span: number;
}

/** The finest grid, of cells no smaller than `least`, that puts the sampled points in at most `wanted` of them. */
export function gridFor(local: Float64Array, wanted: number, least: number): Grid {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let p = 0; p < local.length; p++) {
    const a = p % 3;
    if (local[p] < low[a]) low[a] = local[p];
    if (local[p] > high[a]) high[a] = local[p];
  }
  const span = Math.max(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  const gridOf = (step: number): Grid => ({
    corner: low,
    step,
    span,
    nu: Math.floor((high[0] - low[0]) / step) + 1,
    nv: Math.floor((high[1] - low[1]) / step) + 1,
    nw: Math.floor((high[2] - low[2]) / step) + 1,
  });
  if (!(span > 0)) return gridOf(1);
  let best = gridOf(span * 1.001);
  let coarse = span;
  let fine = span / 4096;
  for (let i = 0; i < 10; i++) {
    const step = Math.sqrt(coarse * fine);
    const grid = gridOf(step);
    if (step < least || grid.nu * grid.nv * grid.nw > MOST_CELLS || holdsMoreThan(wanted, local, grid)) {
      fine = step;
    } else {
      coarse = step;
      best = grid;
    }
  }
  return best;
}

/** Whether points lie in more than `most` cells. */
function holdsMoreThan(most: number, local: Float64Array, grid: Grid): boolean {
  const seen = new Uint8Array(grid.nu * grid.nv * grid.nw);
  let occupied = 0;
  for (let s = 0; s < local.length / 3; s++) {
    const c = cellOf(local, s, grid);
    if (seen[c] === 1) continue;
    seen[c] = 1;
    if (++occupied > most) return true;
  }
  return false;
}

export const clampIndex = (x: number, n: number): number => (x < 0 ? 0 : x >= n ? n - 1 : x | 0);

export function cellOf(local: Float64Array, s: number, grid: Grid): number {
  const { corner, step, nu, nv, nw } = grid;
  const iu = clampIndex((local[3 * s] - corner[0]) / step, nu);
  const iv = clampIndex((local[3 * s + 1] - corner[1]) / step, nv);
  const iw = clampIndex((local[3 * s + 2] - corner[2]) / step, nw);
  return iu + nu * (iv + nv * iw);
}
