import type { Cells } from './cells.js';

/** What is left of a function less than this share of its square, when those before it are taken out, is nothing of its own. */
const DEPENDENT = 1e-4;

/**
 * Functions over the cells of a chart, each with those before it taken out, so that over the points of the cells they are orthonormal:
 * values times the root of a cell's points. A function that is a sum of those before it is all zeros.
 */
export function orthonormalTerms({ count, points }: Cells, functions: readonly Float64Array[]): Float64Array[] {
  const root = points.map(Math.sqrt);
  const terms: Float64Array[] = [];
  for (const values of functions) {
    const term = values.map((value, c) => value * root[c]);
    const before = dot(term, term);
    // Twice, against rounding.
    for (let pass = 0; pass < 2; pass++) {
      for (const other of terms) {
        const share = dot(term, other);
        for (let c = 0; c < count; c++) term[c] -= share * other[c];
      }
    }
    const own = dot(term, term);
    const scale = own > DEPENDENT * before ? 1 / Math.sqrt(own) : 0;
    terms.push(term.map((value) => value * scale));
  }
  return terms;
}

/** How much of each term is in residuals that were summed over the cells, mm. White noise of variance σ² gives each the variance σ². */
export const sharesOf = (terms: readonly Float64Array[], { count, points }: Cells, sum: Float64Array): number[] =>
  terms.map((term) => {
    let share = 0;
    for (let c = 0; c < count; c++) share += (term[c] * sum[c]) / Math.sqrt(points[c]);
    return share;
  });

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let c = 0; c < a.length; c++) sum += a[c] * b[c];
  return sum;
}
