const STEPS = 64;
const FARTHEST = 16;

/**
 * How alike the errors of two points are, by their distance over the correlation length. Two families bracket what surfaces
 * and scanners do: errors smooth at short range, and errors that are rough however close one looks.
 */
export const KERNELS = {
  /** exp(−t²/2) */
  smooth: tabulate((t) => Math.exp((-t * t) / 2)),
  /** exp(−t) */
  rough: tabulate((t) => Math.exp(-t)),
} as const;

export type KernelTable = Float64Array;

function tabulate(kernel: (t: number) => number): KernelTable {
  return Float64Array.from({ length: FARTHEST * STEPS + 1 }, (_, i) => kernel(i / STEPS));
}

/** Linear interpolation in a table: right to 3e-5. */
export function lookUp(table: KernelTable, t: number): number {
  const x = t * STEPS;
  const i = x | 0;
  if (i >= FARTHEST * STEPS) return 0;
  return table[i] + (x - i) * (table[i + 1] - table[i]);
}
