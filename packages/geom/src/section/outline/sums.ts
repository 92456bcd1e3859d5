import { addPoint, arcLoss, lineLoss, MOMENTS } from './moments.js';
import type { Outline } from './places.js';
import { beginWalk, passOn, STATE, takeIn } from './wave.js';

/** Sums over points of an outline, growing point by point from one end. */
export interface Walk {
  /** As of {@link addPoint}, about the first point. */
  readonly moments: Float64Array;
  /** What the waves add to the loss for being as likely as they are, mm²; without waves nothing. */
  readonly unsure: () => number;
  readonly add: () => void;
}

/** @param step 1 from `first` onward along the outline, −1 backward */
export function walkFrom(outline: Outline, first: number, step: 1 | -1): Walk {
  const { flat, weights, wave } = outline;
  const n = weights.length;
  const moments = new Float64Array(MOMENTS);
  const state = new Float64Array(STATE);
  let q = ((first % n) + n) % n;
  const [ox, oy] = [flat[2 * q], flat[2 * q + 1]];
  let begun = false;
  let logs = 0;
  const addAlike = () => {
    if (begun) passOn(state, 0, wave!, step > 0 ? (q + n - 1) % n : q);
    else beginWalk(state, 0, wave!);
    begun = true;
    const x = flat[2 * q] - ox;
    const y = flat[2 * q + 1] - oy;
    logs += takeIn(state, 0, moments, 0, weights[q], 1, x, y, x * x + y * y);
    q = (q + step + n) % n;
  };
  const addAlone = () => {
    addPoint(moments, 0, flat[2 * q] - ox, flat[2 * q + 1] - oy, weights[q]);
    q = (q + step + n) % n;
  };
  return { moments, add: wave ? addAlike : addAlone, unsure: () => (wave ? logs * wave.white ** 2 : 0) };
}

/** What a shape leaves over points [from, to): weighted sum of squared distances, and what the waves add, mm². */
export function lossOf(outline: Outline, shape: 'line' | 'arc', from: number, to: number): number {
  const { flat, weights, wave } = outline;
  if (wave) {
    const walk = walkFrom(outline, from, 1);
    for (let p = from; p < to; p++) walk.add();
    return lossBy(walk, shape);
  }
  // Short stretches are asked about by the thousand: no walk is made for them.
  const n = weights.length;
  const origin = 2 * (from % n);
  const moments = new Float64Array(MOMENTS);
  for (let p = from; p < to; p++) {
    const q = p % n;
    addPoint(moments, 0, flat[2 * q] - flat[origin], flat[2 * q + 1] - flat[origin + 1], weights[q]);
  }
  return shape === 'arc' ? arcLoss(moments, 0) : lineLoss(moments, 0);
}

export const lossBy = ({ moments, unsure }: Walk, shape: 'line' | 'arc'): number =>
  (shape === 'arc' ? arcLoss(moments, 0) : lineLoss(moments, 0)) + unsure();
