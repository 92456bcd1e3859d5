import { scaledCholesky } from '../math/scaled-solve.js';
import type { Vec3 } from '../math/vec3.js';
import { type Distances, type NormalEquations, sumNormalEquations } from './normal-equations.js';
import { move, type Placement } from './placement.js';
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

/**
 * Least squares by Gauss-Newton steps, each about the shape in its own axes (Forbes, NPL Report DITC 140/89), damped as
 * Levenberg and Marquardt do whenever a step would make the sum of squares larger: it cannot move away from the points.
 * Ends when a step moves the points by no more than rounding, or when steps nearly that small no longer shrink.
 */
export function gaussNewton(problem: Problem): Solution {
  const { shape, set, origin, free, priors = [], size } = problem;
  const root = Math.sqrt(set.count);
  const parameters = free.map((p) => shape.parameters[p]);
  const equationsAt = (placement: Placement): NormalEquations => {
    const equations = sumNormalEquations(shape, placement, origin, set);
    return priors.length === 0 ? equations : addPriors(equations, priors, placement);
  };

  let placement = problem.start;
  let equations = equationsAt(placement);
  let damping = 0;
  let previous = Infinity;
  let refused = 0;
  let iterations = 0;
  const end = (converged: boolean, at = placement): Solution => ({ placement: at, equations, iterations, converged });
  while (iterations < MOST_STEPS) {
    iterations++;
    const step = dampedStep(equations, shape.parameters.length, free, damping);
    if (!step) {
      if (!(damping < 1e6)) return end(false);
      damping = Math.max(10 * damping, 1e-6);
      continue;
    }
    // The largest numbers a distance is the difference of, times their last digit.
    const rounding = Number.EPSILON * (size + Math.abs(placement.radius) + Math.hypot(...placement.at));
    const length = Math.sqrt(step.gain) / root;
    if (!Number.isFinite(length)) return end(false);
    if (length <= rounding) return end(true);
    if (damping === 0 && length <= 1000 * rounding && length > 0.3 * previous) return end(true);
    const next = move(placement, parameters, step.move);
    // Steps that shrink so fast that the one after this is below rounding need not be looked at again.
    if (damping === 0 && length * (length / previous) < 0.1 * rounding) return end(true, next);
    const nextEquations = equationsAt(next);
    if (nextEquations.squares <= equations.squares + slack(equations.squares, set.count, rounding)) {
      placement = next;
      equations = nextEquations;
      previous = length;
      damping = damping > 1e-6 ? damping / 10 : 0;
      refused = 0;
    } else {
      if (length <= 1e4 * rounding) return end(true);
      if (++refused > MOST_REFUSED) return end(false);
      damping = Math.max(10 * damping, 1e-3);
      previous = Infinity;
    }
  }
  return end(false);
}

/** By how much a sum of squares can grow by rounding alone. */
const slack = (squares: number, count: number, rounding: number): number =>
  1e-12 * squares + 16 * rounding * Math.sqrt(count * squares) + 64 * count * rounding * rounding;

/** The step of the free parameters, and the squares it promises to take off: stepᵀ(JᵀJ)step. */
function dampedStep(
  { normal, gradient }: NormalEquations,
  m: number,
  free: readonly number[],
  damping: number,
): { move: Float64Array; gain: number } | undefined {
  const right = Float64Array.from(free, (p) => -gradient[p]);
  const move = scaledCholesky(freePart(normal, m, free), free.length, damping)?.solve(right);
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
