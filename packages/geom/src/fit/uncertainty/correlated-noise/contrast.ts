import { symmetricEigen } from '../../../math/symmetric-eigen.js';
import type { Patches } from './patches.js';
import { inverseInformation } from './solve.js';

/** The patch means taken apart: what the fit has taken out of them, and what it has left (the contrasts). */
export interface Contrast {
  /** Parameters the points have a say in. */
  readonly free: readonly number[];
  /** The G − m contrasts of the residuals, mm. */
  readonly residual: Float64Array;
  /**
   * Take apart a covariance of the patch means, G×G times `scale` (its lower triangle is read, and destroyed): the parameters'
   * covariance, m×m, and the lower triangle of the covariance of the G − m contrasts. `inside` is how much the noise varies from one half of a patch to the other, beside its
   * means: 1 for white noise, 0 for noise that is the same all over a patch.
   */
  split(matrix: Float64Array, scale: number, inside: number): { covariance: Float64Array; contrasts: Float64Array };
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
  const slopes = slopesOf(patches, upper, free);
  const p = new Float64Array(size);
  return {
    free,
    residual: vector.slice(k),
    split(matrix, scale, inside) {
      for (let g = 0; g < size; g++) for (let h = 0; h <= g; h++) matrix[g * size + h] *= scale * root[g] * root[h];
      for (const v of reflections) reflectBoth(matrix, size, v, p);
      const means = positive(
        Float64Array.from({ length: k * k }, (_, e) => {
          const [c, d] = [Math.floor(e / k), e % k];
          return matrix[Math.max(c, d) * size + Math.min(c, d)];
        }),
        k,
      );
      const covariance = new Float64Array(m * m);
      for (let a = 0; a < k; a++) {
        for (let b = 0; b < k; b++) {
          let sum = inside * slopes.inside[a * k + b];
          for (let c = 0; c < k; c++)
            for (let d = 0; d < k; d++) sum += slopes.between[a * k + c] * means[c * k + d] * slopes.between[b * k + d];
          covariance[free[a] * m + free[b]] = sum;
        }
      }
      const nu = size - k;
      const contrasts = new Float64Array(nu * nu);
      for (let g = 0; g < nu; g++) for (let h = 0; h <= g; h++) contrasts[g * nu + h] = matrix[(g + k) * size + h + k];
      return { covariance, contrasts };
    },
  };
}

/** With as much white noise as lifts what approximation left negative of it to zero, k×k. */
function positive(covariance: Float64Array, k: number): Float64Array {
  const lift = Math.max(0, -symmetricEigen(covariance, k).values[0]);
  return lift > 0 ? covariance.map((c, e) => (e % (k + 1) === 0 ? c + lift : c)) : covariance;
}

/** x ← x − v·(vᵀx), for v of length √2. */
function reflect(x: Float64Array, v: Float64Array): void {
  let dot = 0;
  for (let g = 0; g < x.length; g++) dot += v[g] * x[g];
  for (let g = 0; g < x.length; g++) x[g] -= dot * v[g];
}

/** A ← H·A·H with H = I − v·vᵀ, in the lower triangle. */
function reflectBoth(matrix: Float64Array, n: number, v: Float64Array, p: Float64Array): void {
  p.fill(0);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    const vi = v[i];
    let sum = matrix[row + i] * vi;
    for (let j = 0; j < i; j++) {
      const a = matrix[row + j];
      sum += a * v[j];
      p[j] += a * vi;
    }
    p[i] += sum;
  }
  let pv = 0;
  for (let i = 0; i < n; i++) pv += p[i] * v[i];
  for (let i = 0; i < n; i++) p[i] -= (pv / 2) * v[i];
  for (let i = 0; i < n; i++) {
    const row = i * n;
    const vi = v[i];
    const pi = p[i];
    for (let j = 0; j <= i; j++) matrix[row + j] -= vi * p[j] + pi * v[j];
  }
}

/**
 * How the error of the parameters follows the noise. Of the gradients' information I = A + B, A = UᵀU is in their means over the
 * patches and B in what they vary inside them; the error is I⁻¹·(Uᵀ·(patch means, reflected) + what comes from inside).
 * `between`: I⁻¹·Uᵀ, k×k. `inside`: I⁻¹·B·I⁻¹, the covariance by white noise of unit variance in a patch's mean.
 */
function slopesOf(
  { informationInside, points, size, parameters: m }: Patches,
  upper: Float64Array,
  free: readonly number[],
): { between: Float64Array; inside: Float64Array } {
  const k = free.length;
  const inside = new Float64Array(k * k);
  const whole = new Float64Array(k * k);
  // A patch of the average number of points counts 1.
  const each = size / points;
  for (let a = 0; a < k; a++) {
    for (let b = 0; b < k; b++) {
      inside[a * k + b] = each * informationInside[free[a] * m + free[b]];
      whole[a * k + b] = inside[a * k + b];
      for (let c = 0; c <= Math.min(a, b); c++) whole[a * k + b] += upper[c * k + a] * upper[c * k + b];
    }
  }
  const inverse = inverseInformation(whole, k);
  return {
    between: product(inverse, k, (c, b) => upper[b * k + c]),
    inside: product(
      product(inverse, k, (c, b) => inside[c * k + b]),
      k,
      (c, b) => inverse[c * k + b],
    ),
  };
}

/** Left·right, k×k. */
function product(left: Float64Array, k: number, right: (c: number, b: number) => number): Float64Array {
  const result = new Float64Array(k * k);
  for (let a = 0; a < k; a++)
    for (let b = 0; b < k; b++) for (let c = 0; c < k; c++) result[a * k + b] += left[a * k + c] * right(c, b);
  return result;
}
