import { trimExtremes } from '../fit/criteria/trim.js';

/** The values that are kept when the extremes are trimmed. */
export function kept(values: Float64Array, trim = 0): Float64Array {
  const out = trimExtremes(values, trim, { high: true, low: true });
  if (out.length === 0) return values;
  const found = new Float64Array(values.length - out.length);
  for (let i = 0, o = 0, n = 0; i < values.length; i++) {
    if (out[o] === i) o++;
    else found[n++] = values[i];
  }
  return found;
}

/** Smallest and largest of the values kept. */
export function range(values: Float64Array, trim = 0): readonly [low: number, high: number] {
  const rest = kept(values, trim);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < rest.length; i++) {
    if (rest[i] < low) low = rest[i];
    if (rest[i] > high) high = rest[i];
  }
  return [low, high];
}
