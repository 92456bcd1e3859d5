import { scaledCholesky } from '../../math/scaled-solve.js';
import type { Vec3 } from '../../math/vec3.js';
import { type Distances, type NormalEquations, sumNormalEquations } from './normal-equations.js';
import { move, type Placement, roundingAt } from './placement.js';
import type { PointSet } from './point-set.js';

/** A value known beforehand, weighed against the points: adds weight·misfit² to the sum of squares. */
export interface Prior {
  /** Place of the parameter it speaks of. */
  readonly parameter: number;
  readonly weight: number;
  /** How far the placement is from the known value, in the parameter's unit; its derivative by the parameter is 1. */
  misfit(placement: Placement): number;
}

export interface Problem {
  readonly shape: Distances;
  readonly set: PointSet;
  readonly origin: Vec3;
  /** Root mean square distance of the points from the origin, mm: what rounding is measured by. */
  readonly size: number;
  readonly start: Placement;
  /** Places of the parameters to fit, ascending; the others stay as they start. */
  readonly free: readonly number[];
  readonly priors?: readonly Prior[];
  /** Steps to take at most. */
  readonly most?: number;
  /** A step that moves the points by no more than this, root mean square, is the last one, mm. Default: rounding. */
  readonly tolerance?: number;
}

export interface Solution {
  readonly placement: Placement;
  /** At `placement`, or one step at rounding before it; priors included. */
  readonly equations: NormalEquations;
  readonly iterations: number;
  readonly converged: boolean;
}

const MOST_STEPS = 200;
const MOST_REFUSED = 25;

/** Steps that shrink less than this, so many times running, are slow. */
const SLOW = 0.25;
const SLOW_STEPS = 3;

/**
 * Least squares by Gauss-Newton steps, each about the shape in its own axes (Forbes, NPL Report DITC 140/89), damped as
 * Levenberg and Marquardt do whenever a step would make the sum of squares larger: it cannot move away from the points.
 * Where the points lie far from the shape steps shrink slowly; then the curvature Gauss and Newton leave out is measured, from
 * differences of the gradient, and steps are Newton's.
 * Ends when a step moves the points by no more than rounding, or when steps nearly that small no longer shrink.
 */
export function gaussNewton(problem: Problem): Solution {
  const { shape, set, origin, free, priors = [], size, most = MOST_STEPS, tolerance = 0 } = problem;
  const root = Math.sqrt(set.count);
  const parameters = free.map((p) => shape.parameters[p]);
  const equationsAt = (placement: Placement): NormalEquations => {
    const equations = sumNormalEquations(shape, placement, origin, set);
    return priors.length === 0 ? equations : addPriors(equations, priors, placement);
  };

  let placement = problem.start;
  let equations = equationsAt(placement);
  let curvature: Float64Array | undefined;
  let damping = 0;
  let previous = Infinity;
  let refused = 0;
  let slow = 0;
  let iterations = 0;
  const end = (converged: boolean, at = placement): Solution => ({ placement: at, equations, iterations, converged });
  while (iterations < most) {
    iterations++;
    const step =
      (curvature && dampedStep(equations, curvature, free, damping)) ?? dampedStep(equations, undefined, free, damping);
    if (!step) {
      if (!(damping < 1e6)) return end(false);
      damping = Math.max(10 * damping, 1e-6);
      continue;
    }
    const rounding = roundingAt(placement, size);
    const length = Math.sqrt(step.gain) / root;
    if (!Number.isFinite(length)) return end(false);
    if (length <= rounding) return end(true);
    const ratio = damping === 0 ? length / previous : 0;
    if (length <= 1000 * rounding && ratio > 0.3) return end(true);
    const next = move(placement, parameters, step.move);
    if (damping === 0 && length <= tolerance) return end(true, next);
    // Steps that shrink so fast that the one after this is below rounding need not be looked at again.
    if (ratio > 0 && length * ratio < 0.1 * rounding) return end(true, next);
    const nextEquations = equationsAt(next);
    if (nextEquations.squares <= equations.squares + slack(equations.squares, set.count, rounding)) {
      slow = ratio > SLOW ? slow + 1 : 0;
      placement = next;
      equations = nextEquations;
      previous = length;
      damping = damping > 1e-6 ? damping / 10 : 0;
      refused = 0;
      if (slow === SLOW_STEPS) {
        curvature = measureCurvature(equations, placement, shape, free, size, equationsAt);
        previous = Infinity;
        slow = 0;
      }
    } else {
      if (length <= 1e4 * rounding) return end(true);
      if (++refused > MOST_REFUSED) return end(false);
      damping = Math.max(10 * damping, 1e-3);
      previous = Infinity;
    }
  }
  return end(false);
}

/** The part of half the second derivatives of the sum of squares that JᵀJ leaves out, m×m. */
function measureCurvature(
  { normal, gradient }: NormalEquations,
  placement: Placement,
  { parameters }: Distances,
  free: readonly number[],
  size: number,
  equationsAt: (placement: Placement) => NormalEquations,
): Float64Array {
  const m = parameters.length;
  const whole = new Float64Array(m * m);
  for (const p of free) {
    const isAngle = parameters[p].startsWith('tilt') || parameters[p] === 'half-angle';
    const step = 1e-6 * (isAngle ? 1 : size);
    const there = equationsAt(move(placement, [parameters[p]], [step])).gradient;
    for (const q of free) whole[p * m + q] = (there[q] - gradient[q]) / step;
  }
  return normal.map((a, k) => {
    const [p, q] = [Math.floor(k / m), k % m];
    return (whole[k] + whole[q * m + p]) / 2 - a;
  });
}

/** By how much a sum of squares can grow by rounding alone. */
const slack = (squares: number, count: number, rounding: number): number =>
  1e-12 * squares + 16 * rounding * Math.sqrt(count * squares) + 64 * count * rounding * rounding;

/** The step of the free parameters, and the squares it promises to take off. */
function dampedStep(
  { normal, gradient }: NormalEquations,
  curvature: Float64Array | undefined,
  free: readonly number[],
  damping: number,
): { move: Float64Array; gain: number } | undefined {
  const m = gradient.length;
  const right = Float64Array.from(free, (p) => -gradient[p]);
  const whole = curvature ? normal.map((a, k) => a + curvature[k]) : normal;
  const move = scaledCholesky(freePart(whole, m, free), free.length, damping)?.solve(right);
  if (!move) return undefined;
  let gain = 0;
  for (let i = 0; i < move.length; i++) gain += move[i] * right[i];
  return { move, gain: Math.max(0, gain) };
}

/** Rows and columns `free` of an m×m matrix. */
export function freePart(normal: Float64Array, m: number, free: readonly number[]): Float64Array {
  const n = free.length;
  const part = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) part[i * n + j] = normal[free[i] * m + free[j]];
  return part;
}

function addPriors(equations: NormalEquations, priors: readonly Prior[], placement: Placement): NormalEquations {
  const { normal, gradient } = equations;
  const m = gradient.length;
  let { squares } = equations;
  for (const { parameter, weight, misfit } of priors) {
    const miss = misfit(placement);
    normal[parameter * (m + 1)] += weight;
    gradient[parameter] += weight * miss;
    squares += weight * miss * miss;
  }
  return { normal, gradient, squares };
}
