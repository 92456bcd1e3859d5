import { FettleError } from '../../error.js';
import { nthSmallest } from '../../math/nth-smallest.js';

/** Which extremes a criterion touches: the largest residuals, the smallest, or both. */
export interface Sides {
  readonly high: boolean;
  readonly low: boolean;
}

/**
 * Leave out a share of the points as extremes, so that single specks do not decide what a gauge feels.
 *
 * Points are ranked once, by their signed residual from the least-squares feature. A criterion that touches both sides
 * loses ⌊share·n/2⌋ points of each side, one that touches one side ⌊share·n⌋ of that side. Among equal residuals the
 * later point goes first. The criterion is then solved over the points kept, as if the others were not there.
 *
 * @param residuals signed, mm, one a point
 * @returns places in `residuals`, ascending
 * @throws FettleError `bad-trim`
 */
export function trimExtremes(residuals: Float64Array, share: number, sides: Sides): Uint32Array {
  if (!(share >= 0 && share < 0.5))
    throw new FettleError('bad-trim', `trim is a share of the points from 0 to below 0.5; it is ${share}.`);
  const both = sides.high && sides.low;
  const each = Math.floor((share * residuals.length) / (both ? 2 : 1));
  if (each === 0) return new Uint32Array(0);
  const low = sides.low ? lowest(residuals, each, 1) : new Uint32Array(0);
  const high = sides.high ? lowest(residuals, each, -1) : new Uint32Array(0);
  const all = new Uint32Array(low.length + high.length);
  all.set(low);
  all.set(high, low.length);
  return all.sort();
}

/** Places of the `count` smallest of sign·values, the later first among equals. */
function lowest(values: Float64Array, count: number, sign: 1 | -1): Uint32Array {
  const signed = new Float64Array(values.length);
  for (let i = 0; i < signed.length; i++) signed[i] = sign * values[i];
  const threshold = nthSmallest(signed.slice(), count - 1);
  const places = new Uint32Array(count);
  let found = 0;
  for (let i = 0; i < signed.length; i++) if (signed[i] < threshold) places[found++] = i;
  for (let i = signed.length - 1; found < count; i--) if (signed[i] === threshold) places[found++] = i;
  return places;
}
