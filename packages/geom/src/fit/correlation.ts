import type { Patches } from './correlation-patches.js';
import { inverseInformation } from './correlation-solve.js';

/** Covariance of a fit's parameters by the noise in its own residuals, and how well that noise is known. */
export interface RandomPart {
  /** m×m, row-major. */
  readonly covariance: Float64Array;
  readonly degreesOfFreedom: number;
}

/** Cluster-robust covariance: the information's inverse on both sides of the summed scores of the patches. */
export function randomPart(patches: Patches): RandomPart {
  const { size, parameters: m, sum, gradient } = patches;
  const inverse = inverseInformation(patches.information, m);
  const score = new Float64Array(m);
  const covariance = new Float64Array(m * m);
  let free = 0;
  for (let a = 0; a < m; a++) if (patches.information[a * m + a] > 0) free++;
  const degreesOfFreedom = Math.max(0, size - free);
  const correction = degreesOfFreedom > 0 ? size / degreesOfFreedom : 0;
  for (let g = 0; g < size; g++) {
    for (let a = 0; a < m; a++) {
      score[a] = 0;
      for (let b = 0; b < m; b++) score[a] += inverse[a * m + b] * gradient[g * m + b] * sum[g];
    }
    for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) covariance[a * m + b] += correction * score[a] * score[b];
  }
  return { covariance, degreesOfFreedom };
}
