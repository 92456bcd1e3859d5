import type { Circle } from '../../feature/feature.js';
import { perpendiculars } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Association, awayFromStart, type CriterionOptions, demandPoints, openArc } from './association.js';
import { flatCloud } from './flat-cloud.js';
import { ringAbout, sectorExtremes } from './ring.js';
import { Subset } from './subset.js';
import { type BisectorEdge, voronoiEdges } from './voronoi.js';

/**
 * The largest circle without a point inside, in the plane of `start`: the pin that slides into a hole (ISO 14405-1 GX).
 * Exact, and global among centers within half the free radius about the least-squares center: farther out a larger
 * circle could always be found outside the ring of points.
 *
 * The distance to the nearest point has its maxima over that disk at vertices of the nearest-point Voronoi diagram,
 * where its edges leave the disk, or on the disk's rim straight away from a point. All of these are compared for a few
 * dozen points, which bounds every circle from above; the nearest of all points joins them until circle and bound meet.
 * A pin held by the points has three contacts not within half a circle; two contacts at the ends of a diameter are no
 * maximum, the pin slides off sideways.
 *
 * @throws FettleError `too-few-points`, `open-arc` when the points do not hold a pin, `bad-trim`
 */
export function maximumInscribedCircle(points: Points, options: CriterionOptions<Circle>): Association<Circle> {
  const { start, trim = 0 } = options;
  const axes = [...perpendiculars(start.normal), start.normal] as const;
  const cloud = flatCloud(points, start.center, axes, (x, y) => Math.hypot(x, y), trim, { high: false, low: true });
  demandPoints(cloud.count, 3, 'A maximum inscribed circle');
  const { xy } = cloud;
  const { inner: free } = ringAbout(xy, 0, 0);
  const disk = free / 2;
  const few = new Subset(xy, sectorExtremes(xy, 24).inner);

  let best = { x: 0, y: 0, radius: free };
  let bound = Number.POSITIVE_INFINITY;
  let passes = 1;
  for (; passes < 500; passes++) {
    const found = largestHole(few.xy, disk, best);
    bound = found.radius;
    if (bound - best.radius <= 8 * Number.EPSILON * bound) break;
    const ring = ringAbout(xy, found.x, found.y);
    if (ring.inner > best.radius) best = { x: found.x, y: found.y, radius: ring.inner };
    if (!few.add(ring.innermost)) break;
  }

  const { x, y, radius } = best;
  const ring = ringAbout(xy, x, y);
  const contacts = touching(few, xy, x, y, radius);
  if (free === 0 || Math.hypot(x, y) > disk * (1 - 1e-9) || widestGap(contacts, xy, x, y) > Math.PI * (1 + 1e-9))
    throw openArc('A maximum inscribed circle');
  return {
    feature: Object.freeze({ kind: 'circle', center: cloud.inSpace(x, y), normal: start.normal, radius }),
    form: ring.outer - ring.inner,
    contacts: contacts.map((i) => ({ index: cloud.indexOf(i), side: -1 })),
    trim,
    trimmed: cloud.trimmed,
    optimality: {
      scope: 'global',
      how: 'every Voronoi vertex of a subset within half the free radius bounds all circles there from above',
      gap: Math.max(0, bound - radius),
    },
    iterations: passes,
    warnings: awayFromStart('The maximum inscribed circle', Math.hypot(x, y), start.radius),
  };
}

interface Hole {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** Of a few points: the largest circle with no point inside whose center is within `disk` of the origin. */
function largestHole(xy: Float64Array, disk: number, known: Hole): Hole {
  let best: Hole = { ...known, radius: ringAbout(xy, known.x, known.y).inner };
  const consider = (x: number, y: number) => {
    if (Math.hypot(x, y) > disk * (1 + 1e-12)) return;
    const radius = ringAbout(xy, x, y).inner;
    if (radius > best.radius) best = { x, y, radius };
  };
  for (const e of voronoiEdges(xy, 'nearest')) {
    const on = (t: number) => consider(e.x + t * e.dx, e.y + t * e.dy);
    for (const t of [e.from, e.to]) if (Number.isFinite(t)) on(t);
    for (const t of rimCrossings(e, disk)) if (t >= e.from && t <= e.to) on(t);
  }
  for (let k = 0; k < xy.length; k += 2) {
    const d = Math.hypot(xy[k], xy[k + 1]);
    if (d > 0) consider((-disk * xy[k]) / d, (-disk * xy[k + 1]) / d);
  }
  return best;
}

/** Where the line of an edge crosses the circle of radius `disk` about the origin. */
function rimCrossings(e: BisectorEdge, disk: number): number[] {
  const along = e.x * e.dx + e.y * e.dy;
  const off = e.x * e.dy - e.y * e.dx;
  const half = Math.sqrt(disk * disk - off * off);
  return Number.isNaN(half) ? [] : [-along - half, -along + half];
}

function touching(few: Subset, xy: Float64Array, x: number, y: number, radius: number): number[] {
  const rounding = 64 * Number.EPSILON * (radius + Math.hypot(x, y));
  return few.places.filter((i) => Math.hypot(xy[2 * i] - x, xy[2 * i + 1] - y) <= radius + rounding);
}

/** The widest angle between neighbors seen from a center, radians. */
function widestGap(places: readonly number[], xy: Float64Array, x: number, y: number): number {
  const angles = places.map((i) => Math.atan2(xy[2 * i + 1] - y, xy[2 * i] - x)).sort((a, b) => a - b);
  let widest = 2 * Math.PI + angles[0] - angles[angles.length - 1];
  for (let i = 1; i < angles.length; i++) widest = Math.max(widest, angles[i] - angles[i - 1]);
  return widest;
}
