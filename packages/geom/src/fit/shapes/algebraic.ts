import { symmetricEigen } from '../../math/symmetric-eigen.js';

/** A circle (two coordinates) or sphere (three). */
export interface Round {
  readonly center: readonly number[];
  readonly radius: number;
  /** Mean square distance of the points, to first order. */
  readonly meanSquare: number;
}

/**
 * The circle or sphere that makes Σf²/Σ|∇f|² least, f = A·q² + B·q + D (Taubin, IEEE PAMI 13 (1991) 1115-1138): unlike the linear
 * fit it does not shrink on short arcs. One eigenvalue problem of size 3 or 4. Of points that coincide: that point, of radius 0.
 *
 * @param coordinates one array a coordinate
 */
export function algebraicRound(coordinates: readonly Float64Array[], count: number): Round {
  const k = coordinates.length;
  const mean = coordinates.map((c) => sumOf(c, count) / count);
  const centered = coordinates.map((c, a) => lessened(c, mean[a], count));
  const square = new Float64Array(count);
  for (const c of centered) for (let i = 0; i < count; i++) square[i] += c[i] * c[i];
  const meanSquareRadius = sumOf(square, count) / count;
  // Points on one spot, or seen along their line.
  if (meanSquareRadius === 0) return { center: mean, radius: 0, meanSquare: 0 };
  const unit = 2 * Math.sqrt(meanSquareRadius);
  for (let i = 0; i < count; i++) square[i] = (square[i] - meanSquareRadius) / unit;
  const columns = [square, ...centered];
  const width = k + 1;
  const gram = new Float64Array(width * width);
  for (let a = 0; a < width; a++) {
    for (let b = 0; b <= a; b++) gram[a * width + b] = gram[b * width + a] = product(columns[a], columns[b]);
  }
  const { values, vectors } = symmetricEigen(gram, width);
  const normal = vectors[0];
  // Straight points have no quadratic part: a radius of a billion times their extent stands for that.
  const quadratic = Math.max(Math.abs(normal[0]), 1e-9) * (normal[0] < 0 ? -1 : 1);
  const offset = Array.from({ length: k }, (_, a) => (-normal[a + 1] * unit) / (2 * quadratic));
  return {
    center: offset.map((o, a) => mean[a] + o),
    radius: Math.sqrt(offset.reduce((s, o) => s + o * o, meanSquareRadius)),
    meanSquare: Math.max(0, values[0]) / count,
  };
}

function sumOf(a: Float64Array, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += a[i];
  return sum;
}

function product(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function lessened(a: Float64Array, by: number, count: number): Float64Array {
  const result = new Float64Array(count);
  for (let i = 0; i < count; i++) result[i] = a[i] - by;
  return result;
}
