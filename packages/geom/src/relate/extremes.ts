import { trimExtremes } from '../fit/extremes/trim.js';

/** The smallest and the largest of some values, and where they stand. */
export interface Extremes {
  readonly low: number;
  readonly high: number;
  readonly lowest: number;
  readonly highest: number;
}

/** Extremes of the values that are left when a share of them is trimmed, half of it at each side. */
export function extremes(values: Float64Array, trim = 0): Extremes {
  const out = trimExtremes(values, trim, { high: true, low: true });
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let lowest = 0;
  let highest = 0;
  for (let i = 0, o = 0; i < values.length; i++) {
    if (out[o] === i) {
      o++;
      continue;
    }
    if (values[i] < low) {
      low = values[i];
      lowest = i;
    }
    if (values[i] > high) {
      high = values[i];
      highest = i;
    }
  }
  return { low, high, lowest, highest };
}
