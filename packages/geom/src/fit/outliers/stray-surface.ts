import type { Feature } from '../../feature/feature.js';
import { dot, subtract, type Vec3 } from '../../math/vec3.js';
import { fillResiduals, rowsOf, STRIDE } from '../solve/normal-equations.js';
import type { Placement } from '../solve/placement.js';
import { plane } from '../solve/plane-shape.js';
import { type PointSet, pointAt, subset } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import { type Spread, spreadOf } from '../solve/spread.js';
import { consensus } from './consensus.js';
import { aloneAmong, strayShare, usualOf } from './stray-cells.js';

/** Reach of a neighborhood in limits: another surface at 15° comes within the limit over 1/sin 15° ≈ 4 of them. */
const REACH = 8;
/** Share of stray points in a neighborhood, above the usual one, that speaks of another surface. */
const SHARE = 0.25;

/**
 * Border about a plane's points within which it is taken to go on, in limits. It is found without its points within two limits of the
 * fitted surface, a band that is 2 · 2 / sin 15° ≈ 15 wide where it crosses at 15°.
 */
const BORDER = 15;
/** Standard deviations within which a plane's own points are. */
const REACHED = 3.5;
/** Standard deviations of another surface's points that stay out of what is kept near it. */
const APART = 2;
/** Share of the limit below which none are kept; a residual may be 0 exactly. */
const NARROWEST = 0.5;
const NONE = -1;

/** Other surfaces looked for. */
const SURFACES = 3;
/** Points left out that make a surface: this share of them, and so many. */
const SURFACE_SHARE = 0.15;
const SURFACE_POINTS = 20;

/**
 * Narrow the limits on the residuals of single points that lie where another surface meets this one. There some of the other surface's
 * points are within any common limit, all on one side, and pull. Where points left out lie on planes, limits shrink toward such a plane, on
 * both sides of the fitted surface alike and by the place on it, so that they do not prefer residuals of one sign. Where they lie
 * otherwise, none are kept in neighborhoods with many more of them than usual. Nor are points alone where the surface holds no others:
 * scatter about a short cone is met by the same cone drawn out, where it turns it most.
 *
 * Tried, 80 each of planes, cylinders, cones and spheres with 40 % of points on a plane at 15°: strips barred whole about the plane, of 0.45
 * to 1 of what both surfaces' points reach together: wide ones lose so many of the surface's own points that a cone can leave five times its
 * uncertainty, at the border of narrow ones the other's points pull. {@link APART} of 1, 1.5, 2.5 and {@link NARROWEST} of 0.4 to 0.8: alike
 * or worse. Limits that grow again as the fit moves: some fits let a flare in whole. Where a plane touches a cone along its length, weights
 * by the chance of belonging to either, with the plane given, do no better.
 *
 * @param residuals of all points
 * @param keep 1 where a point is kept
 * @param limits for each point, mm; narrowed in place
 * @returns how many points kept are beyond theirs
 */
export function narrowNearStrays<F extends Feature>(
  shape: Shape<F>,
  placement: Placement,
  spread: Spread,
  all: PointSet,
  residuals: Float64Array,
  keep: Uint8Array,
  limit: number,
  limits: Float64Array,
): number {
  const strays = new Uint8Array(all.count);
  for (let i = 0; i < all.count; i++) if (Math.abs(residuals[i]) > limit) strays[i] = 1;
  if (shape.components === 1) {
    const normalAt = normals(shape, placement, spread.centroid, all);
    for (let surface = 0; surface < SURFACES; surface++) {
      // Nearer ones may be the tails of the fitted surface's own noise.
      const other = planeOf(all, spread, (i) => strays[i] === 1 && Math.abs(residuals[i]) > 2 * limit, limit);
      if (!other) break;
      const { distances, scale, normal, isWithin } = other;
      const reach = REACHED * scale;
      for (let i = 0; i < all.count; i++) {
        const isOther = Math.abs(distances[i]) <= reach;
        if (strays[i] === 1) {
          if (isOther) strays[i] = 0;
          continue;
        }
        if (Math.abs(distances[i]) > reach + 2 * limit) continue;
        const atFoot = Math.abs(distances[i] - residuals[i] * dot(normalAt(i), normal));
        const apart = atFoot - APART * scale;
        if (apart < Math.min(limit, limits[i]) && isWithin(i)) limits[i] = apart < NARROWEST * limit ? NONE : apart;
      }
    }
  }
  for (let i = 0; i < all.count; i++) if (Math.abs(residuals[i]) > 3 * limit) strays[i] = 0;
  const share = strayShare(all, keep, strays, (2 / 3) * REACH * limit);
  const usual = usualOf(keep, share);
  for (let i = 0; i < all.count; i++) if (keep[i] === 1 && share(i) - usual > SHARE) limits[i] = NONE;
  const stays = new Uint8Array(all.count);
  for (let i = 0; i < all.count; i++) if (keep[i] === 1 && Math.abs(residuals[i]) <= limits[i]) stays[i] = 1;
  for (const i of aloneAmong(all, stays)) limits[i] = NONE;
  let beyond = 0;
  for (let i = 0; i < all.count; i++) if (keep[i] === 1 && Math.abs(residuals[i]) > limits[i]) beyond++;
  return beyond;
}

interface Other {
  /** Of all points from it. */
  readonly distances: Float64Array;
  /** Robust scale of its own points' distances, mm. */
  readonly scale: number;
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
  const onPlane = places.filter((i) => Math.abs(distances[i]) <= REACHED * scale);
  if (onPlane.length < Math.max(SURFACE_POINTS, SURFACE_SHARE * places.length)) return undefined;
  return {
    distances,
    scale,
    normal: placement.w,
    isWithin: rectangleAbout(subset(all, Uint32Array.from(onPlane)), all, BORDER * limit),
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
