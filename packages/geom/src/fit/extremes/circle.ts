import { FettleError } from '../../error.js';
import type { Circle } from '../../feature/feature.js';
import { perpendiculars } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { lengthText } from '../../text/number-text.js';
import type { Contact } from '../fit.js';
import { type Association, awayFromStart, type CriterionOptions, demandPoints } from './association.js';
import { flatCloud } from './flat-cloud.js';
import { type Ring, ringAbout, sectorExtremes } from './ring.js';
import { narrowestStrip } from './strip.js';
import { Subset } from './subset.js';
import { crossing, voronoiEdges } from './voronoi.js';

/**
 * The circle in the middle of the narrowest ring that holds the points, in the plane of `start` (minimum zone, ISO
 * 1101, roundness by ISO 12181): exact and global. Points are seen along the plane's normal.
 *
 * The width of the ring about c, farthest less nearest distance, has many local minima. Each of them has two points on
 * the outer and two on the inner circle that interlace in angle (Rivlin, "Approximation by circles", Computing 21
 * (1979) 93-104), so its center is where an edge of the farthest-point Voronoi diagram crosses one of the nearest-point
 * diagram (Ebara et al., 1989); or it lies at infinity, and the ring is a strip. All of these are compared for a few
 * dozen of the points, which bounds every ring through all points from below; then one pass over all points gives a
 * ring, and the points farthest outside the few join them. When ring and bound meet, no circle anywhere does better.
 * `start` only chooses the first few points.
 *
 * @throws FettleError `too-few-points`, `straight-points` when no ring is narrower than a straight strip, `bad-trim`
 */
export function minimumZoneCircle(points: Points, options: CriterionOptions<Circle>): Association<Circle> {
  const { start, trim = 0 } = options;
  const axes = [...perpendiculars(start.normal), start.normal] as const;
  const cloud = flatCloud(points, start.center, axes, (x, y) => Math.hypot(x, y), trim, { high: true, low: true });
  demandPoints(cloud.count, 4, 'A minimum-zone circle');
  const { xy } = cloud;
  const first = sectorExtremes(xy, 16);
  const few = new Subset(xy, [...first.inner, ...first.outer]);
  if (few.places.length < 3) {
    const whole = narrowestStrip(xy);
    if (!whole || whole.high === whole.low) throw tooStraight(0);
  }

  let best: Candidate = { x: 0, y: 0, ...ringAbout(xy, 0, 0) };
  let bound = 0;
  let passes = 1;
  for (; passes < 200; passes++) {
    const part = few.xy;
    const found = narrowestRing(part, best);
    const strip = narrowestStrip(part);
    const straight = strip ? strip.bound : 0;
    bound = Math.min(width(found), straight);
    const rounding = 8 * Number.EPSILON * (best.outer + Math.hypot(best.x, best.y));
    if (width(best) - bound <= rounding) break;
    let news = false;
    if (straight < width(found) || !strip) {
      const whole = narrowestStrip(xy);
      if (!whole || whole.high - whole.low <= width(best)) throw tooStraight(whole ? whole.high - whole.low : 0);
      passes += whole.passes;
      for (const i of [...whole.upper, ...whole.lower]) news = few.add(i) || news;
    }
    const ring = ringAbout(xy, found.x, found.y);
    if (width(ring) < width(best)) best = { x: found.x, y: found.y, ...ring };
    for (const i of [ring.innermost, ring.outermost]) news = few.add(i) || news;
    if (!news) break;
  }

  const { x, y, inner, outer } = best;
  return {
    feature: Object.freeze({
      kind: 'circle',
      center: cloud.inSpace(x, y),
      normal: start.normal,
      radius: (inner + outer) / 2,
    }),
    form: outer - inner,
    contacts: contactsOf(few, best, cloud.indexOf),
    trim,
    trimmed: cloud.trimmed,
    optimality: {
      scope: 'global',
      how: 'every crossing of nearest and farthest Voronoi edges of a subset bounds all rings from below',
      gap: Math.max(0, outer - inner - bound),
    },
    iterations: passes,
    warnings: awayFromStart('The minimum-zone circle', Math.hypot(x, y), start.radius),
  };
}

interface Candidate extends Ring {
  readonly x: number;
  readonly y: number;
}

const width = (ring: Ring): number => ring.outer - ring.inner;

/** Of a few points: the narrowest ring with a center, or `known` where it is as good. */
function narrowestRing(xy: Float64Array, known: Candidate): Candidate {
  let best: Candidate = { x: known.x, y: known.y, ...ringAbout(xy, known.x, known.y) };
  const near = voronoiEdges(xy, 'nearest');
  const far = voronoiEdges(xy, 'farthest');
  for (const a of far)
    for (const b of near) {
      const center = crossing(a, b, known.outer);
      if (!center) continue;
      const [x, y] = center;
      const ring = ringAbout(xy, x, y);
      if (width(ring) < width(best)) best = { x, y, ...ring };
    }
  return best;
}

/** The points of the exchange that lie on either circle, to rounding. */
function contactsOf(few: Subset, { x, y, inner, outer }: Candidate, indexOf: (i: number) => number): Contact[] {
  const part = few.xy;
  const rounding = 64 * Number.EPSILON * (outer + Math.hypot(x, y));
  const contacts: Contact[] = [];
  few.places.forEach((place, k) => {
    const d = Math.hypot(part[2 * k] - x, part[2 * k + 1] - y);
    if (d >= outer - rounding) contacts.push({ index: indexOf(place), side: 1 });
    if (d <= inner + rounding) contacts.push({ index: indexOf(place), side: -1 });
  });
  return contacts;
}

const tooStraight = (width: number): FettleError =>
  new FettleError(
    'straight-points',
    `No ring is narrower than the straight strip of ${lengthText(width)} that holds the points: they do not carry a circle. ` +
      'Choose a longer arc, or fit a line.',
  );
