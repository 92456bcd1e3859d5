import { normalTail, rootOfTail } from '../../math/distributions.js';
import { nthSmallest } from '../../math/nth-smallest.js';

/**
 * The robust scale of residuals: their median absolute deviation from the feature, normalised so that for normal noise it is the
 * standard deviation of one component. Half the points may be anywhere.
 *
 * @param keep places to look at: those where it is 1; absent: all
 * @param cut of those kept, the sigmas beyond which nothing was kept: without allowing for it, cutting again and again would make
 * the scale smaller and smaller
 */
export function robustScale(residuals: Float64Array, components: 1 | 2, keep?: Uint8Array, cut = Infinity): number {
  const deviations = new Float64Array(residuals.length);
  let count = 0;
  for (let i = 0; i < residuals.length; i++) if (!keep || keep[i] === 1) deviations[count++] = Math.abs(residuals[i]);
  return nthSmallest(deviations.subarray(0, count), count >> 1) / medianWithin(components, cut);
}

/** Median of |z| for normal z of standard deviation 1, or of the distance of two, where none is beyond `cut`. */
const medianWithin = (components: 1 | 2, cut: number): number =>
  components === 1
    ? rootOfTail(normalTail, (1 + normalTail(cut)) / 2)
    : Math.sqrt(-2 * Math.log((1 + Math.exp((-cut * cut) / 2)) / 2));
