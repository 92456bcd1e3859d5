import { CholeskyDecomposition, Matrix } from 'ml-matrix';

/** A positive definite matrix taken apart after its diagonal was scaled to one, so that mm beside radians do no harm. */
export interface ScaledCholesky {
  solve(right: ArrayLike<number>): Float64Array;
  /** Row-major n×n. */
  inverse(): Float64Array;
}

/** Never let go, so that the code compiled for such objects is not either: see `symmetric-eigen.ts`. */
export const kept = new CholeskyDecomposition(
  new Matrix([
    [2, 1],
    [1, 3],
  ]),
);

/**
 * Take apart a symmetric matrix, n×n row-major, with `damping` times its diagonal added.
 * Undefined where the matrix is not positive definite to working precision.
 */
export function scaledCholesky(matrix: Float64Array, n: number, damping = 0): ScaledCholesky | undefined {
  const scale = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const d = matrix[i * n + i];
    if (!(d > 0 && Number.isFinite(d))) return undefined;
    scale[i] = 1 / Math.sqrt(d);
  }
  const unit = Matrix.zeros(n, n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const s = matrix[i * n + j] * scale[i] * scale[j];
      unit.set(i, j, s);
      unit.set(j, i, s);
    }
    unit.set(i, i, 1 + damping);
  }
  const parts = new CholeskyDecomposition(unit);
  const lower = parts.lowerTriangularMatrix;
  for (let i = 0; i < n; i++) if (!(lower.get(i, i) > 1e-8)) return undefined;
  return {
    solve(right) {
      const x = parts.solve(Matrix.columnVector(Array.from({ length: n }, (_, i) => right[i] * scale[i])));
      return Float64Array.from({ length: n }, (_, i) => x.get(i, 0) * scale[i]);
    },
    inverse() {
      const x = parts.solve(Matrix.eye(n, n));
      return Float64Array.from({ length: n * n }, (_, k) => {
        const i = Math.floor(k / n);
        const j = k % n;
        return x.get(i, j) * scale[i] * scale[j];
      });
    },
  };
}
