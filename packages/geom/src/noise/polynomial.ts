import { Matrix, QrDecomposition } from 'ml-matrix';

/** An orthonormal basis of the polynomials of an order over some places. */
export interface Basis {
  /** Number of places and of functions. */
  readonly size: number;
  readonly functions: number;
  /** Values, size×functions, row-major; columns orthonormal. */
  readonly values: Float64Array;
}

/** Terms of a polynomial in two variables up to an order. */
const termsOf = (x: number, y: number, order: number): number[] => {
  const powers = (base: number): number[] => {
    const all = [1];
    for (let k = 1; k <= order; k++) all.push(all[k - 1] * base);
    return all;
  };
  const [xs, ys] = [powers(x), powers(y)];
  return xs.flatMap((_, degree) => ys.slice(0, degree + 1).map((power, k) => xs[degree - k] * power));
};

/** @param flat xy xy … of the places, mm */
export function polynomialBasis(flat: Float64Array, order: number): Basis {
  const size = flat.length / 2;
  let scale = 0;
  for (const x of flat) scale = Math.max(scale, Math.abs(x));
  const rows = Array.from({ length: size }, (_, i) => termsOf(flat[2 * i] / scale, flat[2 * i + 1] / scale, order));
  const q = new QrDecomposition(new Matrix(rows)).orthogonalMatrix;
  return { size, functions: rows[0].length, values: Float64Array.from(q.to1DArray()) };
}

/** What is left of values when the functions are taken out by least squares. */
export function takeOut({ size, functions, values }: Basis, heights: Float64Array): Float64Array {
  const left = heights.slice();
  for (let f = 0; f < functions; f++) {
    let sum = 0;
    for (let i = 0; i < size; i++) sum += values[i * functions + f] * heights[i];
    for (let i = 0; i < size; i++) left[i] -= sum * values[i * functions + f];
  }
  return left;
}
