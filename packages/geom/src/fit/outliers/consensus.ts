import type { Feature } from '../../feature/feature.js';
import { nthSmallest } from '../../math/nth-smallest.js';
import { seededRandom } from '../../math/random.js';
import { gaussNewton } from '../solve/gauss-newton.js';
import { fillResiduals } from '../solve/normal-equations.js';
import type { Placement } from '../solve/placement.js';
import { type PointSet, subset } from '../solve/point-set.js';
import { samplePoints } from '../solve/sample.js';
import type { Given, Shape } from '../solve/shape.js';
import type { Spread } from '../solve/spread.js';
import { findStart } from '../solve/start.js';
import { finestLimit } from './finest-limit.js';
import { robustScale } from './robust-scale.js';

/** How much work a search is. */
export interface Effort {
  /** Points guesses are scored on, first and in full, and points the best are carried on with. */
  readonly first: number;
  readonly few: number;
  readonly many: number;
  /** Guesses carried on. */
  readonly kept: number;
  /** Of the guesses a shape makes along each direction. */
  readonly share: number;
}

const THOROUGH: Effort = { first: 40, few: 300, many: 2000, kept: 80, share: 1 };
/** Rounds of concentration at most. */
const ROUNDS = 50;
const SEED = 3;
/** Share of the points a placement is judged by: what is left is room for 45 % of strays. */
const SHARE = 0.55;

export interface Consensus {
  readonly placement: Placement;
  /** Robust scale of the residuals of the points that agree, mm. */
  readonly scale: number;
}

/**
 * A start that points of other surfaces do not move, up to nearly half of them. Placements through a few random points each are
 * scored by a middle quantile of the absolute distances (least median of squares, Rousseeuw, J. Am. Stat. Assoc. 79 (1984) 871-880);
 * the best are improved by fitting the nearer part of the points and choosing the nearer part again (concentration steps of least
 * trimmed squares, Rousseeuw & Van Driessen, Data Min. Knowl. Discov. 12 (2006) 29-45). The ordinary start runs along, so that
 * without stray points nothing is lost.
 */
export function consensus<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  spread: Spread,
  given: Given,
  free: readonly number[],
  sigmas: number,
  { share, kept, ...counts }: Effort = THOROUGH,
): Consensus {
  const random = seededRandom(SEED);
  const many = samplePoints(set, counts.many, random);
  const few = samplePoints(set, counts.few, random);
  const first = samplePoints(few, counts.first, random);
  const guessed = shape.guesses({ set: few, spread, given, random, share });
  const guesses = bestGuesses(shape, first, few, spread, guessed, kept);
  const isQuick = counts.many < THOROUGH.many;
  const ordinary = findStart(shape, isQuick ? many : set, spread, given, free);
  const improve = (starts: readonly Placement[], rounds: number, best: number): Placement[] =>
    starts
      .map((start) => concentrate(shape, few, spread, start, free, rounds))
      .sort((a, b) => a.score - b.score)
      .slice(0, best)
      .map(({ placement }) => placement);
  const finalists = improve(improve([...guesses, ordinary], 3, 12), ROUNDS, 4);
  const settled = [...finalists, ordinary].map((start) =>
    agree(shape, many, spread, concentrate(shape, many, spread, start, free, ROUNDS).placement, free, sigmas),
  );
  const best = bestOf(shape, many, spread, settled, sigmas);
  return isQuick && many.count < set.count
    ? agree(shape, samplePoints(set, THOROUGH.many, random), spread, best.placement, free, sigmas)
    : best;
}

interface Scored {
  readonly placement: Placement;
  readonly score: number;
}

function bestGuesses<F extends Feature>(
  shape: Shape<F>,
  first: PointSet,
  few: PointSet,
  { centroid }: Spread,
  guesses: Iterable<Placement>,
  most: number,
): Placement[] {
  const kept: Scored[] = [];
  const distances = new Float64Array(few.count);
  const scoreOf = (set: PointSet, placement: Placement): number => {
    fillResiduals(shape, placement, centroid, set, false, distances);
    for (let i = 0; i < set.count; i++) distances[i] = Math.abs(distances[i]);
    return nthSmallest(distances.subarray(0, set.count), Math.floor(SHARE * set.count));
  };
  for (const placement of guesses) {
    const worst = kept.length < most ? Infinity : kept[most - 1].score;
    if (!(scoreOf(first, placement) < 2 * worst)) continue;
    const score = scoreOf(few, placement);
    if (!(score < worst)) continue;
    let place = kept.length;
    while (place > 0 && kept[place - 1].score > score) place--;
    kept.splice(place, 0, { placement, score });
    if (kept.length > most) kept.pop();
  }
  return kept.map(({ placement }) => placement);
}

/** Fit the nearer part of the points, choose the nearer part again, until it stays the same. */
function concentrate<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  { centroid: origin, size }: Spread,
  start: Placement,
  free: readonly number[],
  rounds: number,
): Scored {
  const most = Math.min(set.count, Math.floor(SHARE * set.count) + free.length);
  const distances = new Float64Array(set.count);
  let placement = start;
  let score = Infinity;
  for (let round = 0; round < rounds; round++) {
    fillResiduals(shape, placement, origin, set, false, distances);
    for (let i = 0; i < set.count; i++) distances[i] = Math.abs(distances[i]);
    const limit = nthSmallest(distances.slice(), most - 1);
    const nearer = new Uint32Array(most);
    let filled = 0;
    let trimmed = 0;
    for (let i = 0; i < set.count && filled < most; i++) {
      if (distances[i] > limit) continue;
      nearer[filled++] = i;
      trimmed += distances[i] ** 2;
    }
    if (!(trimmed < score * (1 - 1e-6))) break;
    score = trimmed;
    const part = subset(set, nearer.subarray(0, filled));
    placement = gaussNewton({ shape, set: part, origin, size, start: placement, free, most: 5 }).placement;
  }
  return { placement, score };
}

/** Fit all points within so many sigmas, until these stay the same. */
function agree<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  { centroid: origin, size }: Spread,
  start: Placement,
  free: readonly number[],
  sigmas: number,
): Consensus {
  const distances = new Float64Array(set.count);
  const keep = new Uint8Array(set.count).fill(1);
  const finest = finestLimit(shape, set, size);
  let placement = start;
  let scale = Infinity;
  let count = set.count;
  for (let round = 0; round < 30; round++) {
    fillResiduals(shape, placement, origin, set, false, distances);
    scale = robustScale(distances, shape.components, keep, round === 0 ? Infinity : sigmas);
    const limit = Math.max(sigmas * scale, finest(placement));
    const places: number[] = [];
    for (let i = 0; i < set.count; i++) {
      keep[i] = Math.abs(distances[i]) <= limit ? 1 : 0;
      if (keep[i] === 1) places.push(i);
    }
    if (places.length * shape.components < free.length || (round > 3 && places.length === count)) break;
    count = places.length;
    const part = subset(set, Uint32Array.from(places));
    placement = gaussNewton({ shape, set: part, origin, size, start: placement, free, most: 10 }).placement;
  }
  return { placement, scale };
}

/** The one with the least sum of squares, each point's cut off at the smallest of the scales. */
function bestOf<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  { centroid }: Spread,
  candidates: readonly Consensus[],
  sigmas: number,
): Consensus {
  const cut = (sigmas * Math.min(...candidates.map(({ scale }) => scale))) ** 2;
  const distances = new Float64Array(set.count);
  const scored = candidates.map((candidate) => {
    fillResiduals(shape, candidate.placement, centroid, set, false, distances);
    return { candidate, cost: distances.reduce((sum, d) => sum + Math.min(d * d, cut), 0) };
  });
  return scored.reduce((a, b) => (b.cost < a.cost ? b : a)).candidate;
}
