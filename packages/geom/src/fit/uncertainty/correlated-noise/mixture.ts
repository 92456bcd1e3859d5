import { studentFactor, studentTailFast } from '../../../math/distributions.js';
import { power } from '../../../math/power.js';

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
    const widest = 32 * Math.sqrt(covariance[e]);
    return { wide: whereTail(outside, 0.05, widest), narrow: whereTail(outside, 1 - ONE_SIGMA, widest) };
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

/**
 * Where a falling chance, 1 at 0, comes down to `chance`, to 1e-6 of it. For a normal distribution √(−ln) of the chance is nearly
 * straight: false position on that, and every third step a bisection.
 */
function whereTail(tail: (t: number) => number, chance: number, most: number): number {
  const goal = Math.sqrt(-Math.log(chance));
  let low = 0;
  let atLow = -goal;
  let high = most;
  let atHigh = Math.sqrt(-Math.log(Math.max(tail(most), 1e-300))) - goal;
  if (!(atHigh > 0)) return most;
  for (let i = 0; i < 40; i++) {
    const t = i % 3 === 2 ? (low + high) / 2 : low + ((high - low) * atLow) / (atLow - atHigh);
    const off = Math.sqrt(-Math.log(Math.max(tail(t), 1e-300))) - goal;
    if (Math.abs(off) < 1e-6 * goal || high - low < 1e-12 * most) return t;
    if (off < 0) {
      low = t;
      atLow = off;
    } else {
      high = t;
      atHigh = off;
    }
  }
  return (low + high) / 2;
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
