/** What lies about single points, counted in cubes. */
import { nthSmallest } from '../../math/nth-smallest.js';
import type { PointSet } from '../solve/point-set.js';

/** Cells along the longest side, at most and at least. */
const FINEST = 120;
const COARSEST = 6;
/** Fewer stray points in a neighborhood than this are single ones. */
const FEWEST = 3;
/** Points a neighborhood holds at least, as a rule, where single ones are told; and how many times fewer those of a single one holds. */
const COMPANY = 20;
const ALONE = 12;
/** Points whose neighborhoods tell the usual one. */
const LOOKED_AT = 10_000;

/** Share of stray points among those and the points where `isIn` is 1 in the 27 cells about a point, of `step` mm or more. */
export function strayShare(
  set: PointSet,
  isIn: Uint8Array,
  isStray: Uint8Array,
  step: number,
): (place: number) => number {
  const grid = gridFor(set, isIn, step);
  if (!grid) return () => 0;
  const near = countAround(set, grid, isIn);
  const stray = countAround(set, grid, isStray);
  return (place) => {
    const c = cellAt(set.xyz, place, grid);
    return stray[c] < FEWEST ? 0 : stray[c] / (stray[c] + near[c]);
  };
}

/** Points of those where `isIn` is 1 that lie where next to no others of them do. */
export function aloneAmong(set: PointSet, isIn: Uint8Array): number[] {
  if (set.count < COMPANY) return [];
  for (let cells = FINEST; cells >= COARSEST; cells /= 2) {
    const grid = gridFor(set, isIn, 0, cells);
    if (!grid) return [];
    const around = countAround(set, grid, isIn);
    const company = (place: number): number => around[cellAt(set.xyz, place, grid)];
    const usual = usualOf(isIn, company);
    if (usual < COMPANY) continue;
    const alone: number[] = [];
    for (let i = 0; i < set.count; i++) if (isIn[i] === 1 && ALONE * company(i) <= usual) alone.push(i);
    return alone;
  }
  return [];
}

/** The median of what points where `isIn` is 1 have, by a sample of them; 0 of none. */
export function usualOf(isIn: Uint8Array, look: (place: number) => number): number {
  const seen: number[] = [];
  const every = Math.ceil(isIn.length / LOOKED_AT);
  for (let i = 0; i < isIn.length; i += every) if (isIn[i] === 1) seen.push(look(i));
  return seen.length > 0 ? nthSmallest(Float64Array.from(seen), seen.length >> 1) : 0;
}

/** Cubes of side `step` that hold the points kept, with a border of one. */
interface Grid {
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly step: number;
  readonly nx: number;
  readonly ny: number;
  readonly nz: number;
}

function gridFor({ xyz, count }: PointSet, isIn: Uint8Array, wanted: number, finest = FINEST): Grid | undefined {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < count; i++) {
    if (isIn[i] !== 1) continue;
    for (let k = 0; k < 3; k++) {
      const c = xyz[3 * i + k];
      if (c < low[k]) low[k] = c;
      if (c > high[k]) high[k] = c;
    }
  }
  const span = Math.max(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  if (!(span > 0)) return undefined;
  const step = Math.max(wanted, span / finest);
  return {
    x: low[0] - step,
    y: low[1] - step,
    z: low[2] - step,
    step,
    nx: Math.floor((high[0] - low[0]) / step) + 3,
    ny: Math.floor((high[1] - low[1]) / step) + 3,
    nz: Math.floor((high[2] - low[2]) / step) + 3,
  };
}

/** −1 outside the grid. */
function cellAt(xyz: Float64Array, i: number, { x, y, z, step, nx, ny, nz }: Grid): number {
  const ix = Math.floor((xyz[3 * i] - x) / step);
  const iy = Math.floor((xyz[3 * i + 1] - y) / step);
  const iz = Math.floor((xyz[3 * i + 2] - z) / step);
  return ix < 0 || iy < 0 || iz < 0 || ix >= nx || iy >= ny || iz >= nz ? -1 : ix + nx * (iy + ny * iz);
}

/** Points where `is` is 1 in each cell and its 26 neighbors. */
function countAround({ xyz, count }: PointSet, grid: Grid, is: Uint8Array): Uint32Array {
  const counts = new Uint32Array(grid.nx * grid.ny * grid.nz);
  for (let i = 0; i < count; i++) {
    if (is[i] !== 1) continue;
    const c = cellAt(xyz, i, grid);
    if (c >= 0) counts[c]++;
  }
  return sumAround(counts, grid);
}

/** Sum of each cell and its 26 neighbors: three cells along each axis in turn. */
function sumAround(values: Uint32Array, { nx, ny, nz }: Grid): Uint32Array {
  let from = values;
  for (const [stride, length] of [
    [1, nx],
    [nx, ny],
    [nx * ny, nz],
  ]) {
    const to = new Uint32Array(from.length);
    for (let row = 0; row < from.length; row += stride * length)
      for (let place = 0; place < length; place++)
        for (let c = row + place * stride; c < row + (place + 1) * stride; c++)
          to[c] = from[c] + (place > 0 ? from[c - stride] : 0) + (place < length - 1 ? from[c + stride] : 0);
    from = to;
  }
  return from;
}
