/**
 * Waves across an outline beside its white noise: how far neighboring points err together. Their covariance is Matérn's of order 5/2
 * (C. E. Rasmussen & C. K. I. Williams, "Gaussian processes for machine learning", 2006, §4.2): twice differentiable, and with three
 * numbers a point can be passed along the outline.
 */
export interface Wave {
  /** Standard deviation of the white noise of a point of unit weight, mm. */
  readonly white: number;
  /** Of the waves, standard deviation over the white one. */
  readonly ratio: number;
  /** Where the covariance has fallen to 0.52: Matérn's length, mm. */
  readonly length: number;
  /** How the wave's height, slope and bend pass from each point to the next, nine numbers each, row-major. */
  readonly passage: Float64Array;
}

/** How height, slope and bend (each in units of the waves' own) pass along a way, mm: nine numbers, row-major, into `passage`. */
export function passageOf(way: number, length: number, passage = new Float64Array(9), p = 0): Float64Array {
  const a = (Math.sqrt(5) / length) * way;
  const e = Math.exp(-a);
  passage[p] = e * (1 + a + (a * a) / 2);
  passage[p + 1] = e * a * (1 + a);
  passage[p + 2] = (e * a * a) / 2;
  passage[p + 3] = (-e * a * a) / 2;
  passage[p + 4] = e * (1 + a - a * a);
  passage[p + 5] = (e * a * (2 - a)) / 2;
  passage[p + 6] = (e * a * (a - 2)) / 2;
  passage[p + 7] = e * a * (a - 3);
  passage[p + 8] = e * (1 - 2 * a + (a * a) / 2);
  return passage;
}

/** Numbers of a walk's state: covariance of height, slope and bend (6), and of each of four sequences what is expected of them (12). */
export const STATE = 18;

/** Sums of the four sequences as independent points of the white noise's variance would have them: the upper triangle of 4 × 4. */
export const SUMS = 10;

/** A walk that has seen nothing. */
export function beginWalk(state: Float64Array, s: number, { ratio }: Wave, size = STATE): void {
  const v = ratio * ratio;
  state.fill(0, s, s + size);
  state[s] = v;
  state[s + 2] = -v / 3;
  state[s + 3] = v / 3;
  state[s + 5] = v;
}

/**
 * Passes from point i to the next along the outline, or back: the process has no direction of time, so the way back is the same
 * but for the gap, which the caller names.
 */
export function passOn(state: Float64Array, s: number, wave: Wave, gap: number): void {
  passCovariance(state, s, wave, gap);
  carry(state, s + 6, s + STATE, wave, gap);
}

/** The covariance's part of it. */
export function passCovariance(state: Float64Array, s: number, { ratio, passage }: Wave, gap: number): void {
  const p = 9 * gap;
  const a00 = passage[p];
  const a01 = passage[p + 1];
  const a02 = passage[p + 2];
  const a10 = passage[p + 3];
  const a11 = passage[p + 4];
  const a12 = passage[p + 5];
  const a20 = passage[p + 6];
  const a21 = passage[p + 7];
  const a22 = passage[p + 8];
  const v = ratio * ratio;
  // What is known beyond the stationary covariance shrinks by the passage on both sides.
  const d00 = state[s] - v;
  const d01 = state[s + 1];
  const d02 = state[s + 2] + v / 3;
  const d11 = state[s + 3] - v / 3;
  const d12 = state[s + 4];
  const d22 = state[s + 5] - v;
  const b00 = a00 * d00 + a01 * d01 + a02 * d02;
  const b01 = a00 * d01 + a01 * d11 + a02 * d12;
  const b02 = a00 * d02 + a01 * d12 + a02 * d22;
  const b10 = a10 * d00 + a11 * d01 + a12 * d02;
  const b11 = a10 * d01 + a11 * d11 + a12 * d12;
  const b12 = a10 * d02 + a11 * d12 + a12 * d22;
  const b20 = a20 * d00 + a21 * d01 + a22 * d02;
  const b21 = a20 * d01 + a21 * d11 + a22 * d12;
  const b22 = a20 * d02 + a21 * d12 + a22 * d22;
  state[s] = v + b00 * a00 + b01 * a01 + b02 * a02;
  state[s + 1] = b00 * a10 + b01 * a11 + b02 * a12;
  state[s + 2] = -v / 3 + b00 * a20 + b01 * a21 + b02 * a22;
  state[s + 3] = v / 3 + b10 * a10 + b11 * a11 + b12 * a12;
  state[s + 4] = b10 * a20 + b11 * a21 + b12 * a22;
  state[s + 5] = v + b20 * a20 + b21 * a21 + b22 * a22;
}

/** Passes on what is expected of sequences, three numbers each from `first` to `end` of the state. */
export function carry(state: Float64Array, first: number, end: number, { passage }: Wave, gap: number): void {
  const p = 9 * gap;
  const a00 = passage[p];
  const a01 = passage[p + 1];
  const a02 = passage[p + 2];
  const a10 = passage[p + 3];
  const a11 = passage[p + 4];
  const a12 = passage[p + 5];
  const a20 = passage[p + 6];
  const a21 = passage[p + 7];
  const a22 = passage[p + 8];
  for (let k = first; k < end; k += 3) {
    const h = state[k];
    const l = state[k + 1];
    const c = state[k + 2];
    state[k] = a00 * h + a01 * l + a02 * c;
    state[k + 1] = a10 * h + a11 * l + a12 * c;
    state[k + 2] = a20 * h + a21 * l + a22 * c;
  }
}

/**
 * Takes a point's four values in: what of them was not expected is added to the sums, weighted by how surely it was expected.
 *
 * @returns logarithm of how much less surely than a point of white noise alone
 */
export function takeIn(
  state: Float64Array,
  s: number,
  sums: Float64Array,
  t: number,
  weight: number,
  a: number,
  b: number,
  c: number,
  d: number,
): number {
  if (!(weight > 0)) return 0;
  const p0 = state[s];
  const p1 = state[s + 1];
  const p2 = state[s + 2];
  const f = p0 + 1 / weight;
  const g0 = p0 / f;
  const g1 = p1 / f;
  const g2 = p2 / f;
  const ea = a - state[s + 6];
  const eb = b - state[s + 9];
  const ec = c - state[s + 12];
  const ed = d - state[s + 15];
  sums[t] += (ea * ea) / f;
  sums[t + 1] += (ea * eb) / f;
  sums[t + 2] += (ea * ec) / f;
  sums[t + 3] += (ea * ed) / f;
  sums[t + 4] += (eb * eb) / f;
  sums[t + 5] += (eb * ec) / f;
  sums[t + 6] += (eb * ed) / f;
  sums[t + 7] += (ec * ec) / f;
  sums[t + 8] += (ec * ed) / f;
  sums[t + 9] += (ed * ed) / f;
  state[s + 6] += g0 * ea;
  state[s + 7] += g1 * ea;
  state[s + 8] += g2 * ea;
  state[s + 9] += g0 * eb;
  state[s + 10] += g1 * eb;
  state[s + 11] += g2 * eb;
  state[s + 12] += g0 * ec;
  state[s + 13] += g1 * ec;
  state[s + 14] += g2 * ec;
  state[s + 15] += g0 * ed;
  state[s + 16] += g1 * ed;
  state[s + 17] += g2 * ed;
  state[s] -= g0 * p0;
  state[s + 1] -= g0 * p1;
  state[s + 2] -= g0 * p2;
  state[s + 3] -= g1 * p1;
  state[s + 4] -= g1 * p2;
  state[s + 5] -= g2 * p2;
  return Math.log(f * weight);
}
