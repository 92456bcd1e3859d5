import { nthSmallest } from '../math/nth-smallest.js';
import { seededRandom } from '../math/random.js';
import { dot, type Vec3 } from '../math/vec3.js';
import type { Cells } from './cubes.js';
import { polynomialBasis, takeOut } from './polynomial.js';
import type { SmoothSurface } from './smooth-surfaces.js';

/** Points of a smooth surface, some all over it and some close together, with how far they lie off it. */
export interface SurfaceSample {
  /** How many of them, the first ones, are spread all over. */
  readonly spread: number;
  /** xyz xyz …, mm */
  readonly places: Float64Array;
  /** In the surface's own axes, xy xy …, mm. */
  readonly flat: Float64Array;
  /** mm, along the surface's normal; the order that was taken out is {@link order}. */
  readonly residuals: Float64Array;
  readonly order: number;
}

const SPREAD = 1000;
const CLUSTERS = 40;
const IN_CLUSTER = 14;
/** Points farther off than so many robust standard deviations are no part of the surface. */
const STRAY = 8;

/**
 * @param points indices of the points the cells were made of
 * @param members for each cell the places in `points` of those in it
 */
export function sampleOf(
  positions: Float64Array,
  points: Uint32Array,
  cells: Cells,
  members: Members,
  surface: SmoothSurface,
): SurfaceSample {
  const random = seededRandom(1);
  const chosen: number[] = [];
  const total = surface.cells.reduce((sum, c) => sum + members.count(c), 0);
  const share = Math.min(1, SPREAD / total);
  for (const c of surface.cells)
    for (let k = members.first[c]; k < members.first[c + 1]; k++)
      if (random.next() < share) chosen.push(members.list[k]);
  const spread = chosen.length;
  const isChosen = new Set(chosen);
  for (let cluster = 0; cluster < CLUSTERS && share < 1; cluster++) {
    const c = surface.cells[random.below(surface.cells.length)];
    for (let k = members.first[c]; k < Math.min(members.first[c + 1], members.first[c] + IN_CLUSTER); k++) {
      const i = members.list[k];
      if (isChosen.has(i)) continue;
      isChosen.add(i);
      chosen.push(i);
    }
  }
  return residualsOf(positions, points, cells, surface, chosen, spread);
}

function residualsOf(
  positions: Float64Array,
  points: Uint32Array,
  cells: Cells,
  { axes: [u, v, w], origin, isBent }: SmoothSurface,
  chosen: readonly number[],
  spread: number,
): SurfaceSample {
  const order = isBent ? 4 : 2;
  let kept = chosen.slice();
  let all = spread;
  for (;;) {
    const places = new Float64Array(3 * kept.length);
    const flat = new Float64Array(2 * kept.length);
    const heights = new Float64Array(kept.length);
    kept.forEach((i, k) => {
      const p = 3 * points[i];
      const d: Vec3 = [positions[p] - origin[0], positions[p + 1] - origin[1], positions[p + 2] - origin[2]];
      places.set(positions.subarray(p, p + 3), 3 * k);
      flat[2 * k] = dot(d, u);
      flat[2 * k + 1] = dot(d, v);
      heights[k] = dot(d, w);
    });
    const residuals = takeOut(polynomialBasis(flat, order), heights);
    const scale = 1.4826 * nthSmallest(residuals.map(Math.abs), residuals.length >> 1);
    const isNear = (k: number): boolean => !(Math.abs(residuals[k]) > STRAY * scale) || scale === 0;
    if (kept.every((_, k) => isNear(k))) {
      kept.forEach((i, k) => {
        const c = 3 * cells.of[i];
        const n = cells.normal;
        residuals[k] *= Math.abs(n[c] * w[0] + n[c + 1] * w[1] + n[c + 2] * w[2]);
      });
      return { spread: all, places, flat, residuals, order };
    }
    const stay = kept.map((_, k) => isNear(k));
    all = stay.slice(0, all).filter(Boolean).length;
    kept = kept.filter((_, k) => stay[k]);
  }
}

const MOST_CELLS = 1200;

/** Middles of cells farther off than so many robust standard deviations hold something else too, such as the rim of a hole. */
const FOREIGN = 5;

/**
 * The middles of a surface's cells as points: noise that each point has to itself is averaged out of them, and what neighbors share
 * stands out.
 */
export function cellSampleOf({ middle, normal, count }: Cells, surface: SmoothSurface): CellSample {
  const {
    axes: [u, v, w],
    origin,
    isBent,
  } = surface;
  const order = isBent ? 4 : 2;
  const every = Math.max(1, surface.cells.length / MOST_CELLS);
  let chosen: number[] = [];
  for (let k = 0; k < surface.cells.length; k += every) chosen.push(surface.cells[Math.floor(k)]);
  for (;;) {
    const places = new Float64Array(3 * chosen.length);
    const flat = new Float64Array(2 * chosen.length);
    const heights = new Float64Array(chosen.length);
    let inverse = 0;
    chosen.forEach((c, k) => {
      const p: Vec3 = [middle[3 * c], middle[3 * c + 1], middle[3 * c + 2]];
      const d: Vec3 = [p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]];
      places.set(p, 3 * k);
      flat[2 * k] = dot(d, u);
      flat[2 * k + 1] = dot(d, v);
      heights[k] = dot(d, w);
      inverse += 1 / count[c] / chosen.length;
    });
    const residuals = takeOut(polynomialBasis(flat, order), heights);
    const scale = 1.4826 * nthSmallest(residuals.map(Math.abs), residuals.length >> 1);
    const stay = chosen.filter((_, k) => !(Math.abs(residuals[k]) > FOREIGN * scale) || scale === 0);
    if (stay.length === chosen.length) {
      chosen.forEach((c, k) => {
        residuals[k] *= Math.abs(normal[3 * c] * w[0] + normal[3 * c + 1] * w[1] + normal[3 * c + 2] * w[2]);
      });
      return { spread: chosen.length, places, flat, residuals, order, inverse };
    }
    chosen = stay;
  }
}

export interface CellSample extends SurfaceSample {
  /** Mean of one over the points of a cell. */
  readonly inverse: number;
}

/** For each cell the points in it. */
export interface Members {
  readonly first: Int32Array;
  /** Places in the list of points the cells were made of, cell by cell. */
  readonly list: Int32Array;
  count(cell: number): number;
}

export function membersOf({ of, size, count }: Cells): Members {
  const first = new Int32Array(size + 1);
  for (let c = 0; c < size; c++) first[c + 1] = first[c] + count[c];
  const next = first.slice();
  const list = new Int32Array(of.length);
  for (let i = 0; i < of.length; i++) list[next[of[i]]++] = i;
  return { first, list, count: (c) => first[c + 1] - first[c] };
}
