import type { Patches } from './correlation-patches.js';

/** The patch means taken apart: what the fit has taken out of them, and what it has left (the contrasts). */
export interface Contrast {
  /** Parameters the points have a say in. */
  readonly free: readonly number[];
  /** The G − m contrasts of the residuals, mm. */
  readonly residual: Float64Array;
  /**
   * Take apart a covariance of the patch means, G×G times `scale` (destroyed): the parameters' covariance, m×m, and the
   * covariance of the G − m contrasts.
   */
  split(matrix: Float64Array, scale: number): { covariance: Float64Array; contrasts: Float64Array };
}

/** Householder reflections that turn the gradients, weighted by the points of each patch, to upper triangular form. */
export function contrast(patches: Patches): Contrast {
  const { size, parameters: m, count, mean, gradient } = patches;
  const free: number[] = [];
  for (let a = 0; a < m; a++) if (patches.information[a * m + a] > 0) free.push(a);
  const k = free.length;
  const average = patches.units[0] / size;
  const root = count.map((c) => Math.sqrt(c / average));
  const columns = free.map((a) => Float64Array.from({ length: size }, (_, g) => root[g] * gradient[g * m + a]));
  const vector = mean.map((y, g) => root[g] * y);
  const reflections: Float64Array[] = [];
  const upper = new Float64Array(k * k);
  for (let a = 0; a < Math.min(k, size); a++) {
    const v = new Float64Array(size);
    let norm = 0;
    for (let g = a; g < size; g++) {
      v[g] = columns[a][g];
      norm += v[g] * v[g];
    }
    norm = Math.sqrt(norm);
    const alpha = v[a] > 0 ? -norm : norm;
    v[a] -= alpha;
    let vv = 0;
    for (let g = a; g < size; g++) vv += v[g] * v[g];
    const unit = vv > 0 ? Math.sqrt(2 / vv) : 0;
    for (let g = a; g < size; g++) v[g] *= unit;
    for (let b = a; b < k; b++) reflect(columns[b], v);
    reflect(vector, v);
    for (let b = a; b < k; b++) upper[a * k + b] = columns[b][a];
    reflections.push(v);
  }
  const inverse = invertUpper(upper, k);
  const p = new Float64Array(size);
  return {
    free,
    residual: vector.slice(k),
    split(matrix, scale) {
      for (let g = 0; g < size; g++) for (let h = 0; h < size; h++) matrix[g * size + h] *= scale * root[g] * root[h];
      for (const v of reflections) reflectBoth(matrix, size, v, p);
      const covariance = new Float64Array(m * m);
      for (let a = 0; a < k; a++) {
        for (let b = 0; b < k; b++) {
          let sum = 0;
          for (let c = a; c < k; c++)
            for (let d = b; d < k; d++) sum += inverse[a * k + c] * matrix[c * size + d] * inverse[b * k + d];
          covariance[free[a] * m + free[b]] = sum;
        }
      }
      const nu = size - k;
      const contrasts = new Float64Array(nu * nu);
      for (let g = 0; g < nu; g++) for (let h = 0; h < nu; h++) contrasts[g * nu + h] = matrix[(g + k) * size + h + k];
      return { covariance, contrasts };
    },
  };
}

/** x ← x − v·(vᵀx), for v of length √2. */
function reflect(x: Float64Array, v: Float64Array): void {
  let dot = 0;
  for (let g = 0; g < x.length; g++) dot += v[g] * x[g];
  for (let g = 0; g < x.length; g++) x[g] -= dot * v[g];
}

/** A ← H·A·H with H = I − v·vᵀ. */
function reflectBoth(matrix: Float64Array, n: number, v: Float64Array, p: Float64Array): void {
  let pv = 0;
  for (let i = 0; i < n; i++) {
    let s = 0;
    for (let j = 0; j < n; j++) s += matrix[i * n + j] * v[j];
    p[i] = s;
    pv += s * v[i];
  }
  for (let i = 0; i < n; i++) p[i] -= (pv / 2) * v[i];
  for (let i = 0; i < n; i++) {
    const vi = v[i];
    const pi = p[i];
    for (let j = 0; j < n; j++) matrix[i * n + j] -= vi * p[j] + pi * v[j];
  }
}

/** Inverse of an upper triangular matrix; a diagonal at rounding counts as the smallest the column can carry. */
function invertUpper(upper: Float64Array, k: number): Float64Array {
  const inverse = new Float64Array(k * k);
  for (let b = 0; b < k; b++) {
    let column = 0;
    for (let a = 0; a <= b; a++) column += upper[a * k + b] ** 2;
    const least = 1e-9 * Math.sqrt(column);
    const pivot = Math.abs(upper[b * k + b]) < least ? least : upper[b * k + b];
    inverse[b * k + b] = 1 / pivot;
    for (let a = b - 1; a >= 0; a--) {
      let sum = 0;
      for (let c = a; c < b; c++) sum += inverse[a * k + c] * upper[c * k + b];
      inverse[a * k + b] = -sum / pivot;
    }
  }
  return inverse;
}
