import type { Feature } from '../feature/feature.js';
import { nthSmallest } from '../math/nth-smallest.js';
import { dot, subtract, type Vec3 } from '../math/vec3.js';
import { consensus } from './consensus.js';
import { fillResiduals, rowsOf, STRIDE } from './normal-equations.js';
import type { Placement } from './placement.js';
import { plane } from './plane.js';
import { type PointSet, pointAt, subset } from './point-set.js';
import type { Shape } from './shape.js';
import { type Spread, spreadOf } from './spread.js';

/** Reach of a neighborhood in limits: another surface at 15° comes within the limit over 1/sin 15° ≈ 4 of them. */
const REACH = 8;
/** Share of stray points in a neighborhood, above the usual one, that speaks of another surface. */
const SHARE = 0.25;
/** Fewer stray points in a neighborhood than this are single ones. */
const FEWEST = 3;
/** Cells along the longest side, at most and at least. */
const FINEST = 120;
const COARSEST = 6;

/**
 * Half width of the strip that is barred, of what the two surfaces' points reach together. At its border few of the other's points come
 * within the limit. Tried, on cones: 1, where none does, loses so many of the surface's own points that some fits leave twice the
 * uncertainty; 0.85, 0.7, 0.55 lose fewer; at 0.45 planes leave it since the other's points pull.
 */
const STRIP = 0.62;

/** Points a neighborhood holds at least, as a rule, where single ones are told; and how many times fewer those of a single one holds. */
const COMPANY = 20;
const ALONE = 12;

/** Points whose neighborhoods tell the usual share. */
const LOOKED_AT = 10_000;
/** Other surfaces looked for. */
const SURFACES = 3;
/** Points left out that make a surface: this share of them, and so many. */
const SURFACE_SHARE = 0.15;
const SURFACE_POINTS = 20;

/**
 * Bar points kept that lie where another surface meets this one. There some of the other surface's points are within any limit on
 * single residuals, all on one side, and pull. Where points left out lie on planes, the strip in which such a plane is within
 * the limits is barred; it is measured on the fitted surface itself, so that barring does not prefer residuals of one sign. Where they
 * lie otherwise, neighborhoods with many more of them than usual are barred. Scatter is everywhere alike and bars only what lies where the
 * surface holds no other points.
 *
 * @param residuals of all points
 * @param keep 1 where a point is kept
 * @param barred gets 1 where a kept point is barred
 * @returns how many are
 */
export function barNearStrays<F extends Feature>(
  shape: Shape<F>,
  placement: Placement,
  spread: Spread,
  all: PointSet,
  residuals: Float64Array,
  keep: Uint8Array,
  limit: number,
  barred: Uint8Array,
): number {
  const strays = new Uint8Array(all.count);
  for (let i = 0; i < all.count; i++) if (Math.abs(residuals[i]) > limit) strays[i] = 1;
  let found = 0;
  if (shape.components === 1) {
    const normalAt = normals(shape, placement, spread.centroid, all);
    for (let surface = 0; surface < SURFACES; surface++) {
      // Nearer ones may be the tails of the fitted surface's own noise.
      const other = planeOf(all, spread, (i) => strays[i] === 1 && Math.abs(residuals[i]) > 2 * limit, limit);
      if (!other) break;
      const { distances, reach, normal, isWithin } = other;
      for (let i = 0; i < all.count; i++) {
        if (strays[i] === 1 && Math.abs(distances[i]) <= reach) strays[i] = 0;
        if (keep[i] !== 1 || barred[i] === 1 || Math.abs(distances[i]) > reach + 2 * limit) continue;
        const atFoot = distances[i] - residuals[i] * dot(normalAt(i), normal);
        if (Math.abs(atFoot) > STRIP * (reach + limit) || !isWithin(i)) continue;
        barred[i] = 1;
        found++;
      }
    }
  }
  const share = strayShare(all, keep, limit, (i) => strays[i] === 1 && Math.abs(residuals[i]) <= 3 * limit);
  const usual = usualOf(keep, share);
  for (let i = 0; i < all.count; i++) {
    if (keep[i] !== 1 || barred[i] === 1 || share(i) - usual <= SHARE) continue;
    barred[i] = 1;
    found++;
  }
  return found + barAlone(all, keep, barred);
}

/**
 * Bar points kept that lie on the surface by chance where it holds no others: scatter about a short cone is met by the same cone drawn
 * out, where it turns it most.
 */
function barAlone({ xyz, count }: PointSet, keep: Uint8Array, barred: Uint8Array): number {
  const isIn = keep.map((kept, i) => (kept === 1 && barred[i] !== 1 ? 1 : 0));
  for (let cells = FINEST; cells >= COARSEST; cells /= 2) {
    const grid = gridFor(xyz, count, isIn, 0, cells);
    if (!grid) return 0;
    const near = new Float64Array(grid.nx * grid.ny * grid.nz);
    for (let i = 0; i < count; i++) if (isIn[i] === 1) near[cellAt(xyz, i, grid)]++;
    const around = sumAround(near, grid);
    const company = (place: number): number => around[cellAt(xyz, place, grid)];
    const usual = usualOf(isIn, company);
    if (usual < COMPANY) continue;
    let found = 0;
    for (let i = 0; i < count; i++) {
      if (isIn[i] !== 1 || ALONE * company(i) > usual) continue;
      barred[i] = 1;
      found++;
    }
    return found;
  }
  return 0;
}

/** The median of what the points kept have, by a sample of them; 0 of none. */
function usualOf(keep: Uint8Array, look: (place: number) => number): number {
  const seen: number[] = [];
  const every = Math.ceil(keep.length / LOOKED_AT);
  for (let i = 0; i < keep.length; i += every) if (keep[i] === 1) seen.push(look(i));
  return seen.length > 0 ? nthSmallest(Float64Array.from(seen), seen.length >> 1) : 0;
}

interface Other {
  /** Of all points from it. */
  readonly distances: Float64Array;
  /** Its own points are within this. */
  readonly reach: number;
  readonly normal: Vec3;
  /** Whether a point lies over the part of the plane its own points take. */
  isWithin(place: number): boolean;
}

/** The plane most of the stray points lie on, if they do, as near to it as the kept ones to their surface. */
function planeOf(all: PointSet, spread: Spread, isStray: (place: number) => boolean, limit: number): Other | undefined {
  const places: number[] = [];
  for (let i = 0; i < all.count; i++) if (isStray(i)) places.push(i);
  if (places.length < SURFACE_POINTS) return undefined;
  const own = subset(all, Uint32Array.from(places));
  const { placement, scale } = consensus(plane, own, spread, {}, [0, 1, 2], 3);
  if (3 * scale > 2 * limit) return undefined;
  const distances = new Float64Array(all.count);
  fillResiduals(plane, placement, spread.centroid, all, true, distances);
  const reach = 3.5 * scale;
  const onPlane = places.filter((i) => Math.abs(distances[i]) <= reach);
  if (onPlane.length < Math.max(SURFACE_POINTS, SURFACE_SHARE * places.length)) return undefined;
  return {
    distances,
    reach,
    normal: placement.w,
    isWithin: rectangleAbout(subset(all, Uint32Array.from(onPlane)), all, REACH * limit),
  };
}

/** Whether points of `all` lie over the rectangle that holds `part` with a border, along its two longer principal axes. */
function rectangleAbout(part: PointSet, all: PointSet, border: number): (place: number) => boolean {
  const { centroid, axes } = spreadOf(part);
  const alongAxes = (set: PointSet, place: number): number[] => {
    const p = subtract(pointAt(set, place), centroid);
    return [dot(p, axes[0]), dot(p, axes[1])];
  };
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (let i = 0; i < part.count; i++) {
    alongAxes(part, i).forEach((c, k) => {
      low[k] = Math.min(low[k], c);
      high[k] = Math.max(high[k], c);
    });
  }
  return (place) => alongAxes(all, place).every((c, k) => c >= low[k] - border && c <= high[k] + border);
}

/** Unit normals of the fitted surface at single points, from how distances change as it is shifted. */
function normals<F extends Feature>(
  shape: Shape<F>,
  placement: Placement,
  origin: Vec3,
  set: PointSet,
): (place: number) => Vec3 {
  const { u, v, w, halfAngle } = placement;
  const rowsAt = rowsOf(shape, placement, origin, set);
  const [pu, pv, pw] = (['shift-u', 'shift-v', 'shift-w'] as const).map((name) => shape.parameters.indexOf(name));
  return (place) => {
    const rows = rowsAt(place);
    const a = pu < 0 ? 0 : -rows[pu * STRIDE];
    const b = pv < 0 ? 0 : -rows[pv * STRIDE];
    // A cone has no shift along its axis; its normals lean by the half-angle.
    const c = pw < 0 ? -Math.sin(halfAngle) : -rows[pw * STRIDE];
    return [0, 1, 2].map((k) => a * u[k] + b * v[k] + c * w[k]) as unknown as Vec3;
  };
}

/** Share of stray points among those in the 27 cells about a point. */
function strayShare(
  { xyz, count }: PointSet,
  keep: Uint8Array,
  limit: number,
  isStray: (place: number) => boolean,
): (place: number) => number {
  const grid = gridFor(xyz, count, keep, (2 / 3) * REACH * limit);
  if (!grid) return () => 0;
  const near = new Float64Array(grid.nx * grid.ny * grid.nz);
  const stray = new Float64Array(near.length);
  for (let i = 0; i < count; i++) {
    const c = cellAt(xyz, i, grid);
    if (c < 0) continue;
    if (keep[i] === 1) near[c]++;
    else if (isStray(i)) stray[c]++;
  }
  const nearAround = sumAround(near, grid);
  const strayAround = sumAround(stray, grid);
  return (place) => {
    const c = cellAt(xyz, place, grid);
    return strayAround[c] < FEWEST ? 0 : strayAround[c] / (strayAround[c] + nearAround[c]);
  };
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

function gridFor(
  xyz: Float64Array,
  count: number,
  keep: Uint8Array,
  wanted: number,
  finest = FINEST,
): Grid | undefined {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < count; i++) {
    if (keep[i] !== 1) continue;
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

/** Sum of each cell and its 26 neighbors: three cells along each axis in turn. */
function sumAround(values: Float64Array, { nx, ny, nz }: Grid): Float64Array {
  let from = values;
  for (const [stride, length] of [
    [1, nx],
    [nx, ny],
    [nx * ny, nz],
  ]) {
    const to = new Float64Array(from.length);
    for (let c = 0; c < from.length; c++) {
      const place = Math.floor(c / stride) % length;
      to[c] = from[c] + (place > 0 ? from[c - stride] : 0) + (place < length - 1 ? from[c + stride] : 0);
    }
    from = to;
  }
  return from;
}
