import { seededRandom } from '../math/random.js';

/** Points are taken in runs of this many: memory is read by the line. */
export const RUN = 16;

/** `size` of the numbers 0 … n−1, ascending and evenly spread, with steps uneven enough not to fall in with scan lines. */
export function spread(n: number, size: number): Uint32Array {
  const spread = new Uint32Array(size);
  const step = n / size;
  let turn = 0;
  for (let s = 0; s < size; s++) {
    spread[s] = (s + turn) * step;
    turn += GOLDEN;
    if (turn >= 1) turn -= 1;
  }
  return spread;
}
const GOLDEN = 0.6180339887498949;

/** Where runs start that do not overlap. */
export const runStarts = (n: number, runs: number): Uint32Array =>
  Uint32Array.from({ length: runs }, (_, s) => Math.floor((s * (n - RUN)) / (runs - 1)));

/** Random order: successive points are no neighbors. */
export function shuffle(sample: Uint32Array): Uint32Array {
  const random = seededRandom(sample.length);
  for (let s = sample.length - 1; s > 0; s--) {
    const t = random.below(s + 1);
    const held = sample[s];
    sample[s] = sample[t];
    sample[t] = held;
  }
  return sample;
}
