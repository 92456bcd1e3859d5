import { FettleError } from '../../error.js';
import type { Plane } from '../../feature/feature.js';
import { add, addScaled, cross, length, negate, normalize, perpendiculars, scale, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import type { Contact } from '../fit.js';
import { type Association, type CriterionOptions, demandPoints } from './association.js';
import { type Cloud, centroidOf, indexIn, localCloud, trimCloud } from './cloud.js';
import { type Difference, DifferencePolytope, type Facet } from './difference-polytope.js';

/**
 * The plane in the middle of the narrowest pair of parallel planes that hold the points (minimum zone, ISO 1101): exact
 * and global.
 *
 * The width of the points along a unit vector n is the support function of their difference body D = {p − q}, so the
 * zone sought is the facet of D nearest the origin. A polytope inside D grows by the extreme points along the normal of
 * its own nearest facet (the expanding polytope method of collision detection: van den Bergen, "Proximity queries and
 * penetration depth computation on 3D game objects", GDC 2001). Its inscribed ball bounds every zone from below, each
 * pass gives a zone: when the two meet, no plane of any direction does better. The corners of that facet are the
 * contacts, one against three or two against two.
 *
 * It asks for one pass over the points a facet and for no hull. Measured: 12 passes and 53 ms for 1,000,000 points with
 * 0.05 mm of noise on 400 × 300 mm; 607 passes and 87 ms for 3,000 points all over a ball, where no direction stands
 * out.
 *
 * @throws FettleError `too-few-points`, `collinear-points`, `bad-trim`
 */
export function minimumZonePlane(points: Points, options: CriterionOptions<Plane>): Association<Plane> {
  const { start, trim = 0 } = options;
  const [u, v] = perpendiculars(start.normal);
  const origin = centroidOf(points);
  const whole = localCloud(points, origin, [u, v, start.normal]);
  const { kept, trimmed } = trimCloud(whole, (_x, _y, z) => z, trim, { high: true, low: true });
  demandPoints(kept.count, 3, 'A minimum-zone plane');
  const zone = narrowestZone(kept);
  const inSpace = (p: Vec3): Vec3 => add(addScaled(scale(u, p[0]), v, p[1]), scale(start.normal, p[2]));
  const flip = zone.normal[2] < 0;
  const normal = normalize(inSpace(flip ? negate(zone.normal) : zone.normal));
  const middle = (zone.low + zone.high) / 2;
  return {
    feature: Object.freeze({ kind: 'plane', point: add(origin, inSpace(scale(zone.normal, middle))), normal }),
    form: zone.high - zone.low,
    contacts: contactsOf(zone.facet, kept, flip),
    trim,
    trimmed,
    optimality: {
      scope: 'global',
      how: 'the inscribed ball of a polytope inside the difference body bounds every zone from below',
      gap: Math.max(0, zone.high - zone.low - zone.bound),
    },
    iterations: zone.passes,
    warnings: [],
  };
}

interface Zone {
  readonly normal: Vec3;
  readonly low: number;
  readonly high: number;
  /** No zone is narrower. */
  readonly bound: number;
  /** Three corners suffice even when the zone has no width. */
  readonly facet: readonly Difference[];
  readonly passes: number;
}

function narrowestZone(cloud: Cloud): Zone {
  let passes = 0;
  const along = (direction: Vec3) => {
    passes++;
    return extremes(cloud, direction);
  };
  // Three extents, each square to those before it: a start that spans space unless the points do not.
  const a = along([1, 0, 0]).span;
  const [b] = across(a.at)
    .map((direction) => along(direction).span)
    .sort((p, q) => length(q.at) - length(p.at));
  const extent = Math.max(length(a.at), length(b.at));
  const rounding = 8 * Number.EPSILON * extent;
  const up = cross(a.at, b.at);
  if (length(up) <= rounding * extent)
    throw new FettleError('collinear-points', 'The points lie on a line: no plane through it is better than another.');
  const flat = along(normalize(up));
  if (flat.high - flat.low <= rounding)
    return { ...flat, normal: normalize(up), bound: 0, facet: [a, b, flat.span], passes };

  const polytope = new DifferencePolytope(a, b, flat.span);
  let best: (ReturnType<typeof extremes> & { normal: Vec3; facet: Facet['corners'] }) | undefined;
  for (;;) {
    const facet = polytope.nearest();
    const found = along(facet.normal);
    const width = found.high - found.low;
    if (!best || width < best.high - best.low) best = { ...found, normal: facet.normal, facet: facet.corners };
    if (width - facet.distance <= rounding + 1e-13 * width || passes > 1000)
      return { ...best, bound: facet.distance, passes };
    polytope.grow(found.span, facet);
  }
}

/** The highest and the lowest point along a direction. */
function extremes(cloud: Cloud, [nx, ny, nz]: Vec3): { low: number; high: number; span: Difference } {
  const { xyz, count } = cloud;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let lower = 0;
  let upper = 0;
  for (let i = 0, k = 0; i < count; i++, k += 3) {
    const h = nx * xyz[k] + ny * xyz[k + 1] + nz * xyz[k + 2];
    if (h < low) {
      low = h;
      lower = i;
    }
    if (h > high) {
      high = h;
      upper = i;
    }
  }
  const p = 3 * upper;
  const q = 3 * lower;
  const at: Vec3 = [xyz[p] - xyz[q], xyz[p + 1] - xyz[q + 1], xyz[p + 2] - xyz[q + 2]];
  return { low, high, span: { upper, lower, at } };
}

/** Two unit vectors square to `a` and to each other; any two where `a` is zero. */
const across = (a: Vec3): readonly Vec3[] => perpendiculars(length(a) > 0 ? normalize(a) : [1, 0, 0]);

function contactsOf(corners: readonly Difference[], cloud: Cloud, flip: boolean): Contact[] {
  const up = flip ? -1 : 1;
  const sides = new Map<number, 1 | -1>();
  for (const { upper } of corners) sides.set(indexIn(cloud, upper), up);
  for (const { lower } of corners) sides.set(indexIn(cloud, lower), -up as 1 | -1);
  return [...sides].map(([index, side]) => ({ index, side }));
}
