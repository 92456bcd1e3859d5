import type { Outline } from './profile-split.js';

/**
 * Noise across an outline, standard deviation in mm, from how far each point lies off the middle of its second neighbors on
 * either side: three halves of the variance where the outline is straight, and by the median of all (scaled for normal
 * deviates) also where a lesser part of it is bent.
 */
export function outlineNoise({ flat, closed }: Outline): number {
  const n = flat.length / 2;
  const off: number[] = [];
  const [from, to] = closed ? [0, n] : [2, n - 2];
  for (let i = from; i < to; i++) {
    const a = 2 * ((i + n - 2) % n);
    const b = 2 * ((i + 2) % n);
    const dx = flat[b] - flat[a];
    const dy = flat[b + 1] - flat[a + 1];
    const long = Math.hypot(dx, dy);
    if (long === 0) continue;
    off.push(Math.abs(((flat[2 * i] - flat[a]) * dy - (flat[2 * i + 1] - flat[a + 1]) * dx) / long));
  }
  off.sort((p, q) => p - q);
  return off.length === 0 ? 0 : (1.4826 * off[off.length >> 1]) / Math.sqrt(1.5);
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
