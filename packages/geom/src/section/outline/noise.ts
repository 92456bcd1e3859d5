import { fitFlat } from './fit.js';
import type { Outline } from './places.js';
import { flatDistance, freedoms } from './shape.js';
import type { Stretch } from './split.js';

/**
 * Noise across an outline, standard deviation in mm, from how far each point lies off the middle of its second neighbors on
 * either side: three halves of the variance where the outline is straight, and by the median of all (scaled for normal
 * deviates) also where a lesser part of it is bent.
 */
export function outlineNoise({ flat, closed }: Outline): number {
  const n = flat.length / 2;
  const [from, to] = closed ? [0, n] : [2, n - 2];
  const all = new Float64Array(Math.max(0, to - from));
  let count = 0;
  for (let i = from; i < to; i++) {
    const a = 2 * ((i + n - 2) % n);
    const b = 2 * ((i + 2) % n);
    const dx = flat[b] - flat[a];
    const dy = flat[b + 1] - flat[a + 1];
    const long = Math.hypot(dx, dy);
    if (long === 0) continue;
    all[count++] = Math.abs(((flat[2 * i] - flat[a]) * dy - (flat[2 * i + 1] - flat[a + 1]) * dx) / long);
  }
  const off = all.subarray(0, count).sort();
  return count === 0 ? 0 : (1.4826 * off[count >> 1]) / Math.sqrt(1.5);
}

/**
 * How much more neighbors that err together make sums of residuals scatter: 1 + 2 Σ ρₖ over the lags before the correlation
 * first falls under twice its own standard error, at least 1.
 *
 * @param runs residuals of each piece, in order
 */
export function correlationInflation(runs: readonly Float64Array[]): number {
  let factor = 1;
  const total = runs.reduce((sum, r) => sum + r.length, 0);
  const variance = runs.reduce((sum, r) => sum + r.reduce((s, e) => s + e * e, 0), 0) / total;
  if (!(variance > 0)) return 1;
  for (let lag = 1; lag < 100; lag++) {
    let sum = 0;
    let pairs = 0;
    for (const r of runs)
      for (let i = lag; i < r.length; i++) {
        sum += r[i] * r[i - lag];
        pairs++;
      }
    if (pairs < 10) break;
    const rho = sum / pairs / variance;
    if (rho < 2 / Math.sqrt(pairs)) break;
    factor += 2 * rho;
  }
  return factor;
}

/** The signed distances of a stretch's points from the shape fitted to it, in order. */
export interface ResidualRun {
  readonly residuals: Float64Array;
  /** Of the shape. */
  readonly freedoms: number;
}

export const residualRuns = (outline: Outline, stretches: readonly Stretch[]): ResidualRun[] =>
  stretches.map(({ shape, from, to }) => {
    const fitted = fitFlat(outline, shape, from, to);
    const n = outline.weights.length;
    const residuals = Float64Array.from({ length: to - from }, (_, i) => {
      const q = 2 * ((from + i) % n);
      return flatDistance(fitted, outline.flat[q], outline.flat[q + 1]);
    });
    return { residuals, freedoms: freedoms(fitted) };
  });

/** Standard deviation over all runs, mm. */
export function spreadOf(runs: readonly ResidualRun[]): number {
  let squares = 0;
  let free = 0;
  for (const run of runs) {
    for (const e of run.residuals) squares += e * e;
    free += run.residuals.length - run.freedoms;
  }
  return Math.sqrt(squares / free);
}

/** Whether points farther apart err by more than near ones: they do in waves, and where many pieces are short. */
export function looksWavy({ flat, closed }: Outline): boolean {
  const n = flat.length / 2;
  const scatter = (lag: number): number => {
    const [from, to] = closed ? [0, n] : [lag, n - 2 * lag];
    if (to - from < n / 2) return 0;
    const off = (i: number) => {
      const [q, a, b] = [2 * ((i + n) % n), 2 * ((i + n - lag) % n), 2 * ((i + lag) % n)];
      const dx = flat[b] - flat[a];
      const dy = flat[b + 1] - flat[a + 1];
      const long = Math.hypot(dx, dy);
      return long === 0 ? 0 : ((flat[q] - flat[a]) * dy - (flat[q + 1] - flat[a + 1]) * dx) / long;
    };
    const all = new Float64Array(to - from);
    for (let i = from; i < to; i++) all[i - from] = Math.abs(off(i) - off(i + lag));
    all.sort();
    return all[all.length >> 2];
  };
  const near = scatter(2);
  return [5, 10, 20, 40].some((lag) => 8 * lag < n && scatter(lag) > 1.25 * near);
}
