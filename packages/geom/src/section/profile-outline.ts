import type { Polyline } from './section.js';

/** Points along a line of a section, in order, with the weight (share of the length) each stands for. */
export interface Outline {
  /** xy xy …, mm. */
  readonly flat: Float64Array;
  readonly weights: Float64Array;
  readonly closed: boolean;
}

/** Each point stands for half the way to either neighbor; weights average 1. */
export function outlineOf({ flat, closed }: Polyline): Outline {
  const n = flat.length / 2;
  const weights = new Float64Array(n);
  let total = 0;
  for (let i = 0; i < n - (closed ? 0 : 1); i++) {
    const j = (i + 1) % n;
    const half = Math.hypot(flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]) / 2;
    weights[i] += half;
    weights[j] += half;
    total += 2 * half;
  }
  for (let i = 0; i < n; i++) weights[i] *= n / total;
  return { flat, weights, closed };
}

export function medianSpacing({ flat, closed }: Outline): number {
  const n = flat.length / 2;
  const steps = new Float64Array(n - (closed ? 0 : 1));
  for (let i = 0; i < steps.length; i++) {
    const j = (i + 1) % n;
    steps[i] = Math.hypot(flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]);
  }
  steps.sort();
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
