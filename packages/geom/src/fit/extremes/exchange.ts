import type { Contact, Optimality } from '../fit.js';
import type { Association } from './association.js';
import { type Cloud, indexIn } from './cloud.js';
import { type FewOptimum, minimizeFew } from './minimax.js';
import type { Pose, RoundShape } from './round-shape.js';
import type { Sides } from './trim.js';
import { seenFrom } from './view.js';

/** What an exchange found: where the shape is, how near and far the points are, and what holds it there. */
export interface Exchanged extends Pick<Association<never>, 'contacts' | 'iterations' | 'optimality'> {
  readonly pose: Pose;
  /** Largest and smallest distance of the points, mm. */
  readonly outer: number;
  readonly inner: number;
}

/**
 * Place a round shape by the extremes of many points: solve for a few ({@link minimizeFew}), pass over all at that
 * pose, let the points that stand out most join the few, and so on until none does. What the few allow bounds, near the
 * start, what all allow.
 *
 * @param start the least-squares pose, in the cloud's axes
 * @param limit length of the way the shape may go from one pass to the next, mm; twenty times that in all
 */
export function exchange(cloud: Cloud, shape: RoundShape, sides: Sides, start: Pose, limit: number): Exchanged {
  const few = new Set<number>(spreadExtremes(cloud, shape, sides, start));
  let pose = start;
  let seen = extremesFrom(cloud, shape, pose);
  let passes = 2;
  let found: FewOptimum | undefined;
  for (let way = 0; passes < 300 && way < 20 * limit; passes++) {
    for (const place of outstanding(seen, sides)) few.add(place);
    const places = [...few];
    found = minimizeFew(coordinates(cloud, places), shape, sides, pose, limit);
    const trial = extremesFrom(cloud, shape, found.pose);
    way += found.way;
    const rounding = 16 * Number.EPSILON * trial.outer;
    const better = worth(trial, sides) <= worth(seen, sides);
    if (better) {
      pose = found.pose;
      seen = trial;
    }
    // At its limit the search for the few is not done yet.
    const rested = found.balanced || found.way < limit;
    if (rested && worth(trial, sides) - found.value <= rounding) break;
    const news = outstanding(trial, sides).filter((place) => !few.has(place));
    if (rested && news.length === 0) break;
    for (const place of news) few.add(place);
  }
  const places = [...few];
  const touching = found?.touching ?? [];
  const contacts = touching.map(({ place, side }): Contact => ({ index: indexIn(cloud, places[place]), side }));
  return {
    pose,
    outer: seen.outer,
    inner: seen.inner,
    contacts,
    iterations: passes,
    optimality: judged(found, seen, sides),
  };
}

interface Extremes {
  readonly outer: number;
  readonly inner: number;
  readonly outermost: number;
  readonly innermost: number;
}

const worth = ({ outer, inner }: Extremes, sides: Sides): number => (sides.high ? outer : 0) - (sides.low ? inner : 0);

const outstanding = ({ outermost, innermost }: Extremes, sides: Sides): number[] => [
  ...(sides.high ? [outermost] : []),
  ...(sides.low ? [innermost] : []),
];

function judged(found: FewOptimum | undefined, seen: Extremes, sides: Sides): Optimality {
  const gap = found ? Math.max(0, worth(seen, sides) - found.value) : Number.POSITIVE_INFINITY;
  const how = found?.balanced
    ? 'normals at the contacts balance with positive weights, no free move is better to second order, no point lies beyond'
    : 'no small move is better to first order; the contacts leave some move free';
  return { scope: 'local', how, gap };
}

function extremesFrom({ xyz, count }: Cloud, shape: RoundShape, { origin, u, v, w }: Pose): Extremes {
  const [ox, oy, oz] = origin;
  const [ux, uy, uz] = u;
  const [vx, vy, vz] = v;
  const wx = shape.along * w[0];
  const wy = shape.along * w[1];
  const wz = shape.along * w[2];
  let inner = Number.POSITIVE_INFINITY;
  let outer = -1;
  let innermost = 0;
  let outermost = 0;
  for (let i = 0, k = 0; i < count; i++, k += 3) {
    const x = xyz[k] - ox;
    const y = xyz[k + 1] - oy;
    const z = xyz[k + 2] - oz;
    const a = ux * x + uy * y + uz * z;
    const b = vx * x + vy * y + vz * z;
    const c = wx * x + wy * y + wz * z;
    const d = a * a + b * b + c * c;
    if (d < inner) {
      inner = d;
      innermost = i;
    }
    if (d > outer) {
      outer = d;
      outermost = i;
    }
  }
  const distance = (i: number) => {
    const [a, b, c] = seenFrom({ origin, u, v, w }, xyz[3 * i], xyz[3 * i + 1], xyz[3 * i + 2]);
    return Math.hypot(a, b, shape.along * c);
  };
  return { inner: distance(innermost), outer: distance(outermost), innermost, outermost };
}

/** The nearest and farthest points in each of 12 sectors about w by 3 stations along it: the first few. */
function spreadExtremes({ xyz, count }: Cloud, shape: RoundShape, sides: Sides, pose: Pose): number[] {
  const sectors = 12;
  const stations = 3;
  let top = Number.NEGATIVE_INFINITY;
  let bottom = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3 * count; k += 3) {
    const z = seenFrom(pose, xyz[k], xyz[k + 1], xyz[k + 2])[2];
    top = Math.max(top, z);
    bottom = Math.min(bottom, z);
  }
  const far = new Float64Array(sectors * stations).fill(-1);
  const near = new Float64Array(sectors * stations).fill(Number.POSITIVE_INFINITY);
  const farthest = new Int32Array(sectors * stations).fill(-1);
  const nearest = new Int32Array(sectors * stations).fill(-1);
  for (let i = 0, k = 0; i < count; i++, k += 3) {
    const [x, y, z] = seenFrom(pose, xyz[k], xyz[k + 1], xyz[k + 2]);
    const sector = Math.min(sectors - 1, Math.floor((Math.atan2(y, x) / (2 * Math.PI) + 0.5) * sectors));
    const station = top > bottom ? Math.min(stations - 1, Math.floor(((z - bottom) / (top - bottom)) * stations)) : 0;
    const cell = sector * stations + station;
    const d = x * x + y * y + shape.along * z * z;
    if (d > far[cell]) {
      far[cell] = d;
      farthest[cell] = i;
    }
    if (d < near[cell]) {
      near[cell] = d;
      nearest[cell] = i;
    }
  }
  return [...(sides.high ? farthest : []), ...(sides.low ? nearest : [])].filter((i) => i >= 0);
}

function coordinates({ xyz }: Cloud, places: readonly number[]): Float64Array {
  const part = new Float64Array(3 * places.length);
  places.forEach((i, k) => {
    for (let j = 0; j < 3; j++) part[3 * k + j] = xyz[3 * i + j];
  });
  return part;
}
