/** Of a table, to a length. */
export const STEPS = 64;
export const FARTHEST = 16;

export interface Kernel {
  readonly table: KernelTable;
  /** How likely such noise is before the residuals speak, beside 1 for noise that is not correlated. */
  readonly chance: number;
  /** From this many lengths on it is less than a millionth, and nothing. */
  readonly reach: number;
  /**
   * How many independent pieces its detail has for each that the field has. A smooth field's detail is its slope: over a surface two
   * components, which with exp(−t²/2) have twice the field's own pieces, (Σ var)²/Σ cov². A rough one's has more: as simulated on a
   * plane, 3 to 8 at 1/10 of the side, depending on how fine the detail.
   */
  readonly detail: number;
}

/**
 * How alike the errors of two points are, by their distance over the correlation length. Two families bracket what surfaces
 * and scanners do: errors smooth at short range, and errors that are rough however close one looks. A scanner matches windows of pixels,
 * and a mesh is averaged from many views: rough noise is the exception, and gets a tenth of the chance.
 */
export const KERNELS: readonly Kernel[] = [
  { table: tabulate((t) => Math.exp((-t * t) / 2)), chance: 1, reach: 5.3, detail: 2 },
  { table: tabulate((t) => Math.exp(-t)), chance: 0.1, reach: 13.9, detail: 6 },
];

/** For each step the straight line through its two ends: value at 0 and slope. */
export type KernelTable = Float64Array;

export function tabulate(kernel: (t: number) => number): KernelTable {
  const table = new Float64Array(2 * FARTHEST * STEPS);
  for (let i = 0; i < FARTHEST * STEPS; i++) {
    const start = kernel(i / STEPS);
    const slope = kernel((i + 1) / STEPS) - start;
    table[2 * i] = start - i * slope;
    table[2 * i + 1] = slope;
  }
  return table;
}

/** Linear interpolation in a table at a distance over the length, times {@link STEPS}: right to 3e-5. */
export function alikeAt(table: KernelTable, x: number): number {
  const i = x | 0;
  return i < FARTHEST * STEPS ? table[2 * i] + x * table[2 * i + 1] : 0;
}
