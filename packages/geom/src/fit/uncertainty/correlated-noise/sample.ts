import { seededRandom } from '../../../math/random.js';

/** Points are taken in runs of this many: memory is read by the line. */
export const RUN = 4;

/** `size` of the numbers 0 … n−1, ascending and evenly spread, with steps uneven enough not to fall in with scan lines. */
export const spread = (n: number, size: number): Uint32Array => starts(n, size, 1);

/** Where `runs` runs start that do not overlap, in the same manner. */
export const runStarts = (n: number, runs: number): Uint32Array => starts(n, runs, RUN);

function starts(n: number, size: number, length: number): Uint32Array {
  const starts = new Uint32Array(size);
  const step = n / size;
  let turn = 0;
  for (let s = 0; s < size; s++) {
    starts[s] = s * step + turn * (step - length);
    turn += GOLDEN;
    if (turn >= 1) turn -= 1;
  }
  return starts;
}
const GOLDEN = 0.6180339887498949;

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
