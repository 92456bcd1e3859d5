import { symmetricEigen } from '../math/symmetric-eigen.js';

/** A circle (two coordinates) or sphere (three). */
export interface Round {
  readonly center: readonly number[];
  readonly radius: number;
  /** Mean square distance of the points, to first order. */
  readonly meanSquare: number;
}

/**
 * The circle or sphere that makes Σf²/Σ|∇f|² least, f = A·q² + B·q + D (Taubin, IEEE PAMI 13 (1991) 1115-1138): unlike the linear
 * fit it does not shrink on short arcs. One eigenvalue problem of size 3 or 4.
 *
 * @param coordinates one array a coordinate
 */
export function algebraicRound(coordinates: readonly Float64Array[], count: number): Round {
  const k = coordinates.length;
  const mean = coordinates.map((c) => {
    let s = 0;
    for (let i = 0; i < count; i++) s += c[i];
    return s / count;
  });
  let meanSquareRadius = 0;
  for (let a = 0; a < k; a++) {
    const c = coordinates[a];
    for (let i = 0; i < count; i++) meanSquareRadius += (c[i] - mean[a]) ** 2;
  }
  meanSquareRadius /= count;
  const width = k + 1;
  const gram = new Float64Array(width * width);
  const row = new Float64Array(width);
  const unit = 2 * Math.sqrt(meanSquareRadius);
  for (let i = 0; i < count; i++) {
    let square = -meanSquareRadius;
    for (let a = 0; a < k; a++) {
      const q = coordinates[a][i] - mean[a];
      row[a + 1] = q;
      square += q * q;
    }
    row[0] = square / unit;
    for (let a = 0; a < width; a++) for (let b = 0; b <= a; b++) gram[a * width + b] += row[a] * row[b];
  }
  for (let a = 0; a < width; a++) for (let b = 0; b < a; b++) gram[b * width + a] = gram[a * width + b];
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
