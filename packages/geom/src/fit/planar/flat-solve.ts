import type { Feature } from '../../feature/feature.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { robustScale } from '../outliers/robust-scale.js';
import { type FlatShape, MOVES } from './flat-shape.js';

/** Points a rough start is carried to its minimum on. */
const SAMPLE = 400;
/** Starts carried on: those with the least squares as they are. */
const STARTS = 8;
const MOST_STEPS = 200;

interface Sums {
  readonly normal: Float64Array;
  readonly gradient: Float64Array;
  /** Of the robust loss where there is one. */
  readonly squares: number;
}

/**
 * JᵀJ, Jᵀd and Σd². With a `width`, squares are those of Cauchy's loss, width²·ln(1 + d²/width²): points far off hardly
 * count.
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

export interface FlatSolution<S> {
  readonly state: S;
  readonly squares: number;
  readonly iterations: number;
  readonly converged: boolean;
}

/**
 * Gauss-Newton steps with Levenberg's and Marquardt's damping, until a step moves the points by no more than rounding.
 */
export function solveFlat<S, F extends Feature>(
  shape: FlatShape<S, F>,
  xy: Float64Array,
  start: S,
  width?: number,
): FlatSolution<S> {
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

/**
 * The best of the shape's starts, each carried into its minimum on a sample; of outliers hardly touched if there may be
 * some.
 */
export function bestStart<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, isRobust: boolean): S {
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
    if (!isRobust) return solveFlat(shape, sample, start);
    let state = start;
    for (let round = 0; round < 4; round++) {
      const distance = shape.distance(state);
      const residuals = Float64Array.from({ length: few }, (_, k) => distance(sample[2 * k], sample[2 * k + 1], row));
      state = solveFlat(shape, sample, state, Math.max(2.4 * robustScale(residuals, 1), 1e-12)).state;
    }
    return { state, squares: worth(state) };
  });
  return found.reduce((a, b) => (b.squares < a.squares ? b : a)).state;
}

/** The points at some places. */
export const gather = (xy: Float64Array, places: Uint32Array): Float64Array =>
  Float64Array.from({ length: 2 * places.length }, (_, k) => xy[2 * places[k >> 1] + (k & 1)]);
