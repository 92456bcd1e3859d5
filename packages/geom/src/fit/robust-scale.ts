import { nthSmallest } from '../math/nth-smallest.js';

/** Standard deviation of a normal distribution over the median of its absolute deviations. */
const NORMAL = 1.482602218505602;
/** The same for distances of two normal components: over the median of a Rayleigh distribution. */
const RAYLEIGH = 0.8493218002880191;

/**
 * The robust scale of residuals: their median absolute deviation from the feature, normalised so that for normal noise it is the
 * standard deviation of one component. Half the points may be anywhere.
 *
 * @param keep places to look at: those where it is 1; absent: all
 */
export function robustScale(residuals: Float64Array, components: 1 | 2, keep?: Uint8Array): number {
  const deviations = new Float64Array(residuals.length);
  let count = 0;
  for (let i = 0; i < residuals.length; i++) if (!keep || keep[i] === 1) deviations[count++] = Math.abs(residuals[i]);
  const median = nthSmallest(deviations.subarray(0, count), count >> 1);
  return median * (components === 2 ? RAYLEIGH : NORMAL);
}
