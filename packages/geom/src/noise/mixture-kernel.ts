import { alikeAt, FARTHEST, type Kernel, STEPS, tabulate } from './kernel-table.js';
import { KERNELS, REACH } from './kernels.js';
import type { NoiseTerm } from './scan-noise.js';

/** Terms that together are less than this share of the shared noise do not stretch the table. */
const NEGLIGIBLE = 1e-3;

/** The terms of a scan's noise as one kernel over a length of its own, mm, and their variance, mm². */
export interface Mixture {
  readonly kernel: Kernel;
  readonly length: number;
  readonly variance: number;
}

export function mixtureOf(terms: readonly NoiseTerm[]): Mixture | undefined {
  const variance = terms.reduce((sum, term) => sum + term.variance, 0);
  if (!(variance > 0)) return undefined;
  const farthest = Math.max(
    ...terms
      .filter((term) => term.variance > NEGLIGIBLE * variance)
      .map(({ kernel, length }) => REACH[kernel] * length),
  );
  const unit = farthest / FARTHEST;
  const table = tabulate((t) => {
    let sum = 0;
    for (const { kernel, length, variance: own } of terms) sum += own * KERNELS[kernel]((t * unit) / length);
    return sum / variance;
  });
  return { kernel: { table, chance: 1, reach: FARTHEST, detail: DETAIL }, length: unit, variance };
}
/** Covariance of the shared noise of two points by their distance, mm², from a table. */
export function correlationOf(terms: readonly NoiseTerm[]): (distance: number) => number {
  const mixture = mixtureOf(terms);
  if (!mixture) return () => 0;
  const { kernel, length, variance } = mixture;
  const perUnit = STEPS / length;
  return (distance) => variance * alikeAt(kernel.table, distance * perUnit);
}

/** Between what a smooth kernel and a rough one have. */
const DETAIL = 3;
