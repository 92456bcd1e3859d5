import { FettleError, type Warning } from '../error.js';
import type { Feature, Plane } from '../feature/feature.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { add, addScaled, dot, perpendiculars, scale, subtract, type Vec3 } from '../math/vec3.js';
import { countText } from '../scan/number-text.js';
import type { Points } from '../scan/scan.js';
import type { Coverage, Fit, FitOptions } from './fit.js';
import { checkedOptions } from './options.js';
import { fitPlane } from './plane.js';
import { gatherPoints } from './point-set.js';
import { robustScale } from './robust-scale.js';
import { spreadOf } from './spread.js';
import { fitUncertainty } from './uncertainty.js';

/** Moves that place a shape in a plane and size it: five, for a slot and for an ellipse. */
export const MOVES = 5;

/** Signed distance of (x, y) from a shape, positive outside; its derivatives by the five moves go into `gradient`. */
export type FlatDistance = (x: number, y: number, gradient: Float64Array) => number;

/** What the fit in a plane asks of a shape with state `S`. */
export interface FlatShape<S, F extends Feature> {
  readonly kind: F['kind'];
  /** States to start from, of which one lies in the basin of the best fit. */
  starts(xy: Float64Array): S[];
  /** Distances and their derivatives by the moves the fit takes. */
  distance(state: S): FlatDistance;
  moved(state: S, by: ArrayLike<number>): S;
  /** Of states that fit as well the one to report. */
  settle(state: S, xy: Float64Array): S;
  /** Center and direction in the plane, for the feature and for the axes of its uncertainty. */
  place(state: S): { readonly x: number; readonly y: number; readonly ux: number; readonly uy: number };
  feature(state: S, center: Vec3, normal: Vec3, direction: Vec3): F;
  /** Derivatives by the parameters of the table of {@link Uncertainty}. */
  tableDistance(state: S): FlatDistance;
  /** Half its longest extent, mm. */
  reach(state: S): number;
  /**
   * What the points show of it, and what a person should know of that.
   *
   * @throws FettleError `fit-undetermined`
   */
  judge(
    state: S,
    xy: Float64Array,
    rms: number,
    covariance: Float64Array,
  ): { readonly coverage: Coverage; readonly warnings: readonly Warning[] };
}

export interface FlatOptions<F extends Feature> extends FitOptions<F> {
  /** Points are seen along this plane's normal, and the feature lies in it. Default: the least-squares plane of the points. */
  readonly plane?: Plane;
}

/** Points a rough start is carried to its minimum on. */
const SAMPLE = 400;
/** Starts carried on: those with the least squares as they are. */
const STARTS = 8;
const MOST_STEPS = 200;
const MOST_ROUNDS = 50;

/**
 * Associate a shape in a plane with points by least squares of the orthogonal distance: the best of the shape's starts, on a sample, then
 * Gauss-Newton steps on all points, damped where the sum of squares would grow.
 */
export function fitInPlane<S, F extends Feature>(
  shape: FlatShape<S, F>,
  points: Points,
  options: FlatOptions<F>,
): Fit<F> {
  const { reject } = checkedOptions(options);
  const { criterion = 'least-squares', scanner } = options;
  if (criterion !== 'least-squares')
    throw new FettleError('bad-option', `A ${shape.kind} is fitted by least squares alone, not by ${criterion}.`);
  const set = gatherPoints(points, shape.kind, MOVES);
  const { centroid } = spreadOf(set);
  const { normal, point } = options.plane ?? fitPlane(points).feature;
  const origin = addScaled(centroid, normal, dot(subtract(point, centroid), normal));
  const [u, v] = perpendiculars(normal);
  const xy = new Float64Array(2 * set.count);
  for (let i = 0; i < set.count; i++) {
    const p: Vec3 = [set.xyz[3 * i] - origin[0], set.xyz[3 * i + 1] - origin[1], set.xyz[3 * i + 2] - origin[2]];
    xy[2 * i] = dot(p, u);
    xy[2 * i + 1] = dot(p, v);
  }

  const start = bestStart(shape, xy, reject !== undefined);
  const kept = reject === undefined ? keepAll(shape, xy, start) : rejectAndFit(shape, xy, start, reject, set.prefix);
  const { solution, places, warnings } = kept;
  const left = places ? gather(xy, places) : xy;
  const state = shape.settle(kept.state, left);
  const inSpace = (x: number, y: number): Vec3 => add(scale(u, x), scale(v, y));
  const { x, y, ux, uy } = shape.place(state);
  const [center, direction] = [add(origin, inSpace(x, y)), inSpace(ux, uy)];
  const across = inSpace(-uy, ux);
  const count = places ? places.length : set.count;
  const residuals = new Float64Array(count);
  const gradient = new Float64Array(MOVES);
  const distance = shape.tableDistance(state);
  const at = (i: number) => 2 * (places ? places[i] : i);
  let squares = 0;
  let [low, high] = [Infinity, -Infinity];
  for (let i = 0; i < count; i++) {
    const d = distance(xy[at(i)], xy[at(i) + 1], gradient);
    residuals[i] = d;
    squares += d * d;
    low = Math.min(low, d);
    high = Math.max(high, d);
  }
  const index = (i: number): number => (set.index ? set.index[i] : i);
  const used = Uint32Array.from({ length: count }, (_, i) => index(places ? places[i] : i));
  const isKept = new Set(places);
  const rejected = places
    ? Uint32Array.from(
        Array.from({ length: set.count }, (_, i) => i).filter((i) => !isKept.has(i)),
        index,
      )
    : new Uint32Array(0);
  const rms = Math.sqrt(squares / count);
  const uncertainty = Object.freeze(
    fitUncertainty({
      kind: shape.kind,
      positions: points.positions,
      used,
      residuals,
      parameters: MOVES,
      gradient: (i, out) => void distance(xy[at(i)], xy[at(i) + 1], out),
      at: center,
      axes: [direction, across, normal],
      reach: shape.reach(state),
      ...(scanner && { scanner }),
    }),
  );
  const { coverage, warnings: judged } = shape.judge(state, left, rms, uncertainty.covariance);
  const unfinished: Warning = {
    code: 'not-converged',
    message: `The ${shape.kind} still moved after ${solution.iterations} steps: the points hardly determine it. Do not rely on it.`,
  };
  return Object.freeze({
    feature: Object.freeze(shape.feature(state, center, normal, direction)),
    criterion,
    count,
    used,
    residuals,
    rms,
    max: Math.max(-low, high),
    form: high - low,
    rejected,
    iterations: solution.iterations,
    converged: solution.converged,
    uncertainty,
    coverage: Object.freeze(coverage),
    warnings: Object.freeze([...warnings, ...(solution.converged ? [] : [unfinished]), ...judged]),
  } satisfies Fit<F>);
}

const gather = (xy: Float64Array, places: Uint32Array): Float64Array =>
  Float64Array.from({ length: 2 * places.length }, (_, k) => xy[2 * places[k >> 1] + (k & 1)]);

interface Sums {
  readonly normal: Float64Array;
  readonly gradient: Float64Array;
  /** Of the robust loss where there is one. */
  readonly squares: number;
}

/**
 * JᵀJ, Jᵀd and Σd². With a `width`, squares are those of Cauchy's loss, width²·ln(1 + d²/width²): points far off hardly count.
 */
function sums<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, state: S, width?: number): Sums {
  const normal = new Float64Array(MOVES * MOVES);
  const gradient = new Float64Array(MOVES);
  const row = new Float64Array(MOVES);
  const distance = shape.distance(state);
  let squares = 0;
  for (let k = 0; k < xy.length; k += 2) {
    const d = distance(xy[k], xy[k + 1], row);
    let weight = 1;
    if (width === undefined) squares += d * d;
    else {
      const t = (d / width) ** 2;
      weight = 1 / (1 + t);
      squares += width * width * Math.log1p(t);
    }
    for (let i = 0; i < MOVES; i++) {
      const r = weight * row[i];
      gradient[i] += r * d;
      for (let j = 0; j <= i; j++) normal[i * MOVES + j] += r * row[j];
    }
  }
  for (let i = 0; i < MOVES; i++) for (let j = 0; j < i; j++) normal[j * MOVES + i] = normal[i * MOVES + j];
  return { normal, gradient, squares };
}

interface Solution<S> {
  readonly state: S;
  readonly squares: number;
  readonly iterations: number;
  readonly converged: boolean;
}

/** Gauss-Newton steps with Levenberg's and Marquardt's damping, until a step moves the points by no more than rounding. */
function solve<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, start: S, width?: number): Solution<S> {
  const count = xy.length / 2;
  let size = 0;
  for (const c of xy) size = Math.max(size, Math.abs(c));
  const rounding = 4 * Number.EPSILON * size;
  let state = start;
  let at = sums(shape, xy, state, width);
  let damping = 0;
  let previous = Number.POSITIVE_INFINITY;
  let idle = 0;
  for (let iterations = 1; iterations <= MOST_STEPS; iterations++) {
    const by = scaledCholesky(padded(at.normal), MOVES, damping)?.solve(at.gradient.map((g) => -g));
    if (!by) {
      if (damping > 1e6) return { state, squares: at.squares, iterations, converged: false };
      damping = Math.max(10 * damping, 1e-6);
      continue;
    }
    let gain = 0;
    for (let i = 0; i < MOVES; i++) gain -= by[i] * at.gradient[i];
    const step = Math.sqrt(Math.max(0, gain) / count);
    if (step <= rounding || (damping <= 1e-6 && step <= 1e4 * rounding && step > 0.3 * previous))
      return { state, squares: at.squares, iterations, converged: true };
    const next = shape.moved(state, by);
    const there = sums(shape, xy, next, width);
    if (there.squares <= at.squares * (1 + 1e-14)) {
      // Held at a bound, as a slot no longer than wide: the step goes on, the fit does not.
      idle = there.squares >= at.squares * (1 - 1e-14) ? idle + 1 : 0;
      if (idle > 3) return { state: next, squares: there.squares, iterations, converged: true };
      state = next;
      at = there;
      previous = step;
      damping = damping > 1e-6 ? damping / 10 : 0;
    } else {
      if (step <= 1e4 * rounding) return { state, squares: at.squares, iterations, converged: true };
      if (damping > 1e12) return { state, squares: at.squares, iterations, converged: false };
      damping = Math.max(10 * damping, 1e-3);
      previous = Number.POSITIVE_INFINITY;
    }
  }
  return { state, squares: at.squares, iterations: MOST_STEPS, converged: false };
}

/** A move that changes no distance gets a little of its own, so that it stays at rest. */
function padded(normal: Float64Array): Float64Array {
  let most = 0;
  for (let i = 0; i < MOVES; i++) most = Math.max(most, normal[i * (MOVES + 1)]);
  const filled = normal.slice();
  for (let i = 0; i < MOVES; i++) filled[i * (MOVES + 1)] += 1e-15 * most;
  return filled;
}

/** The best of the shape's starts, each carried into its minimum on a sample; of outliers hardly touched if there may be some. */
function bestStart<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, isRobust: boolean): S {
  const count = xy.length / 2;
  const few = Math.min(count, SAMPLE);
  const sample = gather(
    xy,
    Uint32Array.from({ length: few }, (_, k) => Math.floor(((k + 0.5) * count) / few)),
  );
  const row = new Float64Array(MOVES);
  const worth = (state: S): number => {
    const distance = shape.distance(state);
    const residuals = Float64Array.from({ length: few }, (_, k) => distance(sample[2 * k], sample[2 * k + 1], row));
    return isRobust ? robustScale(residuals, 1) : residuals.reduce((sum, r) => sum + r * r, 0);
  };
  const starts = shape
    .starts(sample)
    .map((state) => ({ state, worth: worth(state) }))
    .sort((a, b) => a.worth - b.worth)
    .slice(0, STARTS);
  const found = starts.map(({ state: start }) => {
    if (!isRobust) return solve(shape, sample, start);
    let state = start;
    for (let round = 0; round < 4; round++) {
      const distance = shape.distance(state);
      const residuals = Float64Array.from({ length: few }, (_, k) => distance(sample[2 * k], sample[2 * k + 1], row));
      state = solve(shape, sample, state, Math.max(2.4 * robustScale(residuals, 1), 1e-12)).state;
    }
    return { state, squares: worth(state) };
  });
  return found.reduce((a, b) => (b.squares < a.squares ? b : a)).state;
}

interface Kept<S> {
  readonly state: S;
  readonly solution: Solution<S>;
  /** Places of the points kept; absent: all. */
  readonly places?: Uint32Array;
  readonly warnings: readonly Warning[];
}

function keepAll<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, start: S): Kept<S> {
  const solution = solve(shape, xy, start);
  return { state: solution.state, solution, warnings: [] };
}

/** Leave out points farther than `sigmas` robust scales, fit, and repeat until the set stays. */
function rejectAndFit<S, F extends Feature>(
  shape: FlatShape<S, F>,
  xy: Float64Array,
  start: S,
  sigmas: number,
  prefix: string,
): Kept<S> {
  const count = xy.length / 2;
  const residuals = new Float64Array(count);
  const row = new Float64Array(MOVES);
  let state = start;
  let places: Uint32Array | undefined;
  let solution: Solution<S> | undefined;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const distance = shape.distance(state);
    let size = 0;
    for (let i = 0; i < count; i++) {
      residuals[i] = distance(xy[2 * i], xy[2 * i + 1], row);
      size = Math.max(size, Math.abs(xy[2 * i]), Math.abs(xy[2 * i + 1]));
    }
    const keep = Uint8Array.from(residuals, () => (places ? 0 : 1));
    if (places) for (const i of places) keep[i] = 1;
    const limit = Math.max(sigmas * robustScale(residuals, 1, keep), 64 * Number.EPSILON * size);
    const next = Uint32Array.from(
      Array.from({ length: count }, (_, i) => i).filter((i) => Math.abs(residuals[i]) <= limit),
    );
    if (solution && places && next.length === places.length && next.every((p, i) => p === places![i]))
      return { state, solution, places, warnings: [] };
    if (next.length < MOVES)
      throw new FettleError(
        'too-few-points',
        `${prefix}Rejecting at ${sigmas} sigmas leaves ${countText(next.length)} of ${countText(count)} points; a ${shape.kind} ` +
          `needs at least ${MOVES}. Give a larger reject or a region with more points.`,
      );
    places = next;
    solution = solve(shape, gather(xy, places), state);
    state = solution.state;
  }
  const message = `The points left out at ${sigmas} sigmas still changed after ${MOST_ROUNDS} rounds.`;
  return { state, solution: solution!, places: places!, warnings: [{ code: 'reject-turning', message }] };
}
