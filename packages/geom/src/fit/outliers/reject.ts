import { FettleError, type Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { countText } from '../../text/number-text.js';
import { gaussNewton, type Solution } from '../solve/gauss-newton.js';
import { fillResiduals } from '../solve/normal-equations.js';
import type { Placement } from '../solve/placement.js';
import { type PointSet, subset } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import type { Solved } from '../solve/solved.js';
import type { Spread } from '../solve/spread.js';
import { finestLimit } from './finest-limit.js';
import { robustScale } from './robust-scale.js';
import { narrowNearStrays } from './stray-surface.js';

export interface Kept {
  /** The points kept. */
  readonly set: PointSet;
  /** Indices in the scan of the points left out. */
  readonly rejected: Uint32Array;
  readonly solution: Solved;
  readonly warnings: readonly Warning[];
}

const MOST_ROUNDS = 200;
/** Times limits of single points are narrowed, at most. */
const MOST_NARROWED = 12;
/** Share of the scale they were found at below which they were those of a start that held much else, and are found anew. */
const FINER = 0.8;
/** Share of points that come and go that matters. */
const MANY = 1e-3;
/** Share of the scale to which a set that will change is fitted. */
const LOOSE = 1e-3;

/**
 * Fit, leave out the points farther from the feature than `sigmas` robust scales of those kept, take back those that have come
 * nearer, and repeat until the set stays the same. Where sets come back in turn, points once left out stay out until limits are found
 * anew. Up to a thousandth of the points kept may lie beyond limits narrowed last.
 *
 * @param startScale scale of the residuals at a robust `start`, mm: whenever the set has become stable, limits near other surfaces are
 * then narrowed, up to a dozen times; absent: all points are fitted first
 * @throws FettleError `too-few-points` when too few are left, `reject-unstable`
 */
export function rejectAndFit<F extends Feature>(
  shape: Shape<F>,
  all: PointSet,
  spread: Spread,
  start: Placement,
  free: readonly number[],
  sigmas: number,
  startScale?: number,
): Kept {
  const { centroid: origin, size } = spread;
  const least = Math.ceil(free.length / shape.components);
  const residuals = new Float64Array(all.count);
  const fit = (set: PointSet, from: Placement, tolerance: number): Solution =>
    gaussNewton({ shape, set, origin, size, start: from, free, tolerance });
  const finest = finestLimit(shape, all, size);
  const seen = new Set<string>();
  /** Of single points, near other surfaces; they only narrow, for what is let in again can take the fit with it. */
  const limits = startScale === undefined ? undefined : new Float64Array(all.count).fill(Infinity);
  let narrowed = 0;
  let scaleOfLimits = 0;
  let isStuck = false;
  let keep: Uint8Array = new Uint8Array(all.count).fill(1);
  let count = all.count;
  let set = all;
  let solution: Solution | undefined;
  let iterations = 0;
  // To rounding only once the set stays the same.
  let isExact = false;
  if (startScale === undefined) solution = fit(all, start, 0);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const placement = solution?.placement ?? start;
    fillResiduals(shape, placement, origin, all, shape.isSigned, residuals);
    const cut = count === all.count ? Infinity : sigmas;
    const scale = solution
      ? robustScale(residuals, shape.components, unlimited(keep, count, narrowed > 0 ? limits : undefined), cut)
      : startScale!;
    const limit = Math.max(sigmas * scale, finest(placement));
    const next = within(residuals, limit, isStuck ? keep : undefined, limits);
    if (solution && next.count === count && isSame(next.keep, keep)) {
      if (!isExact) {
        isExact = true;
        solution = fit(set, placement, 0);
        iterations += solution.iterations;
        continue;
      }
      if (limits && narrowed < MOST_NARROWED) {
        const isFiner = scale < FINER * scaleOfLimits;
        if (isFiner) {
          limits.fill(Infinity);
          seen.clear();
          isStuck = false;
        }
        if (isFiner || narrowed === 0) scaleOfLimits = scale;
        const beyond = narrowNearStrays(shape, placement, spread, all, residuals, keep, limit, limits);
        if (isFiner || beyond > MANY * count) {
          narrowed++;
          isExact = false;
          continue;
        }
      }
      return {
        set,
        rejected: leftOut(all, keep, count),
        solution: { ...solution, iterations },
        warnings: isStuck ? turning(residuals, keep, limit, limits) : [],
      };
    }
    if (next.count < least) throw tooFew(all, next.count, least, shape.kind, sigmas);
    isStuck ||= seen.has(next.mark);
    seen.add(next.mark);
    ({ keep, count } = next);
    set = subset(all, placesOf(keep, count, 1));
    solution = fit(set, placement, isExact ? 0 : LOOSE * scale);
    iterations += solution.iterations;
  }
  throw new FettleError(
    'reject-unstable',
    `${all.prefix}The points left out at ${sigmas} sigmas still change after ${MOST_ROUNDS} rounds. Give a larger reject, or a ` +
      'region with less of other surfaces in it.',
  );
}

interface Selection {
  readonly keep: Uint8Array;
  readonly count: number;
  /** Tells this set from others. */
  readonly mark: string;
}

function within(
  residuals: Float64Array,
  limit: number,
  among: Uint8Array | undefined,
  limits: Float64Array | undefined,
): Selection {
  const keep = new Uint8Array(residuals.length);
  let count = 0;
  let mark = 0;
  for (let i = 0; i < residuals.length; i++) {
    const isBeyond = Math.abs(residuals[i]) > limit || (limits && Math.abs(residuals[i]) > limits[i]);
    if (isBeyond || among?.[i] === 0) mark = Math.imul(mark ^ i, 0x01000193);
    else {
      keep[i] = 1;
      count++;
    }
  }
  return { keep, count, mark: `${count}:${mark}` };
}

/** Of the points kept, those that limits of their own did not choose by their residuals; all where these are few. */
function unlimited(keep: Uint8Array, count: number, limits: Float64Array | undefined): Uint8Array {
  if (!limits) return keep;
  const chosen = new Uint8Array(keep.length);
  let left = 0;
  for (let i = 0; i < keep.length; i++) {
    if (keep[i] !== 1 || limits[i] !== Infinity) continue;
    chosen[i] = 1;
    left++;
  }
  return 2 * left < count ? keep : chosen;
}

function isSame(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** Places where `keep` is `value`. */
function placesOf(keep: Uint8Array, count: number, value: 0 | 1): Uint32Array {
  const places = new Uint32Array(count);
  let filled = 0;
  for (let i = 0; i < keep.length; i++) if (keep[i] === value) places[filled++] = i;
  return places;
}

const leftOut = ({ index }: PointSet, keep: Uint8Array, kept: number): Uint32Array => {
  const places = placesOf(keep, keep.length - kept, 0);
  return index ? places.map((place) => index[place]) : places;
};

/** Of points near enough to be taken back that stay out, so that the rounds end. */
function turning(
  residuals: Float64Array,
  keep: Uint8Array,
  limit: number,
  limits: Float64Array | undefined,
): readonly Warning[] {
  const count = residuals.reduce(
    (sum, r, i) => sum + (keep[i] === 0 && Math.abs(r) <= Math.min(limit, limits?.[i] ?? limit) ? 1 : 0),
    0,
  );
  if (count < MANY * residuals.length) return [];
  return [
    {
      code: 'reject-turning',
      message:
        `Points at the limit of rejection (${countText(count)} of ${countText(residuals.length)}) were taken in by one fit and left ` +
        'out by the next, in turn; they are left out. Choose a region with less of other surfaces in it, or give a larger reject.',
    },
  ];
}

const tooFew = (all: PointSet, left: number, least: number, what: string, sigmas: number): FettleError =>
  new FettleError(
    'too-few-points',
    `${all.prefix}Rejecting at ${sigmas} sigmas leaves ${countText(left)} of ${countText(all.count)} points; a ${what} needs at ` +
      `least ${least}. Give a larger reject or a region with more points.`,
  );
