import type { Feature } from '../../feature/feature.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { freePart, gaussNewton, type Problem } from './gauss-newton.js';
import { fillResiduals } from './normal-equations.js';
import { move, roundingAt } from './placement.js';
import type { Shape } from './shape.js';
import type { Solved } from './solved.js';

const MOST_PASSES = 4;
/** Share of the points' size to which the steps before are taken: the root of rounding, so that one more step is at rounding. */
const NEAR = 1e-8;

/**
 * Gauss-Newton steps on many points, the last of them by passes that fill in the residuals: these need only Jᵀd, for JᵀJ hardly
 * changes any more. Against steps with sums of their own to the end and one pass for the residuals after them, a cylinder through
 * 10⁶ points: three passes of 64 ms in all instead of four of 88 ms.
 *
 * The last step, below a thousand times rounding, is in the placement and not in the residuals.
 */
export function solveKeeping<F extends Feature>(shape: Shape<F>, problem: Omit<Problem, 'shape'>): Solved {
  const { set, origin, free, size } = problem;
  const near = gaussNewton({ ...problem, shape, tolerance: NEAR * size });
  const m = shape.parameters.length;
  const parameters = free.map((p) => shape.parameters[p]);
  const parts = near.converged ? scaledCholesky(freePart(near.equations.normal, m, free), free.length) : undefined;
  // A cone's distances change their sign beyond a right angle; there the plain way is taken.
  if (!parts || Math.abs(near.placement.halfAngle) >= Math.PI / 2) return gaussNewton({ ...problem, shape });
  const values = new Float64Array(set.count);
  const gradient = new Float64Array(m);
  let { placement, iterations } = near;
  for (let pass = 0; pass < MOST_PASSES; pass++) {
    const sums = fillResiduals(shape, placement, origin, set, shape.isSigned, values, gradient);
    iterations++;
    const step = parts.solve(free.map((p) => -gradient[p]));
    const gain = step.reduce((sum, s, i) => sum - s * gradient[free[i]], 0);
    const length = Math.sqrt(Math.max(0, gain) / set.count);
    placement = move(placement, parameters, step);
    if (length <= 1000 * roundingAt(placement, size)) {
      return { placement, iterations, converged: true, residuals: { values, sums } };
    }
  }
  return gaussNewton({ ...problem, shape, start: placement });
}
