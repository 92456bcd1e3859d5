import type { Solution } from './gauss-newton.js';
import type { ResidualSums } from './normal-equations.js';

export interface Residuals {
  readonly values: Float64Array;
  readonly sums: ResidualSums;
}

/** Residuals of the same surface with its normal turned over. */
export function negated({ values, sums: { squares, low, high } }: Residuals): Residuals {
  for (let i = 0; i < values.length; i++) values[i] = -values[i];
  return { values, sums: { squares, low: -high, high: -low } };
}

/** A solution, and its residuals where its last pass has them. */
export type Solved = Omit<Solution, 'equations'> & { readonly residuals?: Residuals };
