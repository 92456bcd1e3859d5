import { studentFactor, studentTailFast } from '../math/distributions.js';
import { power } from '../math/power.js';

/** Student's t about zero, scaled, with a weight. */
export interface Component {
  weight: number;
  /** m×m, row-major: of the parameters, for the component's scale. */
  readonly covariance: Float64Array;
  readonly degrees: number;
}

/**
 * One t distribution for a mixture of them: each parameter keeps its 95 % interval, and the degrees of freedom are those whose
 * 95 % interval is as much wider than the one-sigma interval (68.27 %) as the mixture's is, averaged over the parameters.
 */
export function singleOf(
  components: readonly Component[],
  m: number,
  free: readonly number[],
): { covariance: Float64Array; degreesOfFreedom: number } {
  const covariance = new Float64Array(m * m);
  for (const { weight, covariance: own } of components)
    for (let e = 0; e < m * m; e++) covariance[e] += weight * own[e];

  const inverse = new Float64Array(components.length);
  const quantiles = free.map((a) => {
    const e = a * (m + 1);
    components.forEach(({ covariance: own }, k) => {
      inverse[k] = 1 / Math.sqrt(own[e]);
    });
    const outside = (t: number): number => {
      let sum = 0;
      for (let k = 0; k < components.length; k++)
        sum += components[k].weight * studentTailFast(t * inverse[k], components[k].degrees);
      return sum;
    };
    const at = (chance: number): number => {
      let low = 0;
      let high = 32 * Math.sqrt(covariance[e]);
      for (let i = 0; i < 24; i++) {
        const middle = (low + high) / 2;
        if (outside(middle) > chance) low = middle;
        else high = middle;
      }
      return (low + high) / 2;
    };
    return { wide: at(0.05), narrow: at(1 - ONE_SIGMA) };
  });

  let inverseDegrees = 0;
  for (const { wide, narrow } of quantiles) inverseDegrees += 1 / (degreesOf(wide / narrow) * free.length);
  const degreesOfFreedom = 1 / inverseDegrees;
  const factor = studentFactor(0.95, degreesOfFreedom);
  const stretch = new Float64Array(m);
  free.forEach((a, k) => {
    const standard = Math.sqrt(covariance[a * (m + 1)]);
    stretch[a] = standard > 0 ? quantiles[k].wide / factor / standard : 0;
  });
  for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) covariance[a * m + b] *= stretch[a] * stretch[b];
  return { covariance, degreesOfFreedom };
}

const ONE_SIGMA = 0.6826894921370859;

/** Degrees of freedom of the t distribution whose 95 % and one-sigma factors stand in this ratio; from 1 to 10⁴. */
function degreesOf(ratio: number): number {
  ratios ??= Float64Array.from({ length: RATIOS }, (_, i) => {
    const degrees = power(10, (4 * i) / (RATIOS - 1));
    return studentFactor(0.95, degrees) / studentFactor(ONE_SIGMA, degrees);
  });
  let i = 0;
  while (i < RATIOS - 2 && ratios[i + 1] > ratio) i++;
  const part = Math.min(1, Math.max(0, (ratios[i] - ratio) / (ratios[i] - ratios[i + 1])));
  return power(10, (4 * (i + part)) / (RATIOS - 1));
}
const RATIOS = 81;
let ratios: Float64Array | undefined;
