import type { Polyline } from '../section.js';
import { passageOf, type Wave } from './wave.js';

/** Points along a line of a section, in order, with the weight (share of the length) each stands for. */
export interface Outline {
  /** xy xy …, mm. */
  readonly flat: Float64Array;
  readonly weights: Float64Array;
  readonly closed: boolean;
  /** From each point to the next, mm; of an open line the last is nothing. */
  readonly gaps: Float64Array;
  /** Waves beside the white noise; absent: none. */
  readonly wave?: Wave;
}

/** Each point stands for half the way to either neighbor; weights average 1. */
export function outlineOf({ flat, closed }: Polyline): Outline {
  const n = flat.length / 2;
  const weights = new Float64Array(n);
  const gaps = new Float64Array(n);
  let total = 0;
  for (let i = 0; i < n - (closed ? 0 : 1); i++) {
    const j = (i + 1) % n;
    gaps[i] = Math.hypot(flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]);
    const half = gaps[i] / 2;
    weights[i] += half;
    weights[j] += half;
    total += 2 * half;
  }
  for (let i = 0; i < n; i++) weights[i] *= n / total;
  return { flat, weights, closed, gaps };
}

/** Points [from, to) as an open outline of their own. */
export function partOf({ flat, weights, gaps, wave }: Outline, from: number, to: number): Outline {
  const n = weights.length;
  const picked = (values: Float64Array, each: number) => {
    const part = new Float64Array(each * (to - from));
    for (let p = from; p < to; p++)
      for (let k = 0; k < each; k++) part[each * (p - from) + k] = values[each * (p % n) + k];
    return part;
  };
  const part = { flat: picked(flat, 2), weights: picked(weights, 1), gaps: picked(gaps, 1), closed: false };
  return wave ? { ...part, wave: { ...wave, passage: picked(wave.passage, 9) } } : part;
}

export function medianSpacing({ gaps, closed }: Outline): number {
  const steps = (closed ? gaps : gaps.subarray(0, -1)).toSorted();
  return steps[steps.length >> 1];
}

/** Along points [from, to), mm. */
export function pathLength({ flat }: Outline, from: number, to: number): number {
  const n = flat.length / 2;
  let length = 0;
  for (let i = from; i + 1 < to; i++) {
    const a = 2 * (i % n);
    const b = 2 * ((i + 1) % n);
    length += Math.hypot(flat[b] - flat[a], flat[b + 1] - flat[a + 1]);
  }
  return length;
}

/** The outline with waves; what was fitted to it without them does not hold. */
export function withWave(outline: Outline, white: number, ratio: number, length: number): Outline {
  const { gaps } = outline;
  const passage = new Float64Array(9 * gaps.length);
  for (let i = 0; i < gaps.length; i++) passageOf(gaps[i], length, passage, 9 * i);
  return { ...outline, wave: { white, ratio, length, passage } };
}
