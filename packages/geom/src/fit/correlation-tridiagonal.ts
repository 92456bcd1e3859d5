/**
 * Turn a symmetric matrix, n×n row-major (destroyed; the lower triangle is read), into tridiagonal form by Householder reflections
 * and turn `vector` along (Golub & Van Loan, "Matrix Computations", 4th ed., 8.3.1). Afterwards any matrix
 * a·M + b·I is solved and its determinant had in n steps.
 */
export function tridiagonalize(matrix: Float64Array, n: number, vector: Float64Array): Tridiagonal {
  const diagonal = new Float64Array(n);
  const off = new Float64Array(n);
  const v = new Float64Array(n);
  const p = new Float64Array(n);
  for (let k = 0; k < n - 2; k++) {
    let norm = 0;
    for (let i = k + 1; i < n; i++) {
      v[i] = matrix[i * n + k];
      p[i] = 0;
      norm += v[i] * v[i];
    }
    norm = Math.sqrt(norm);
    const alpha = v[k + 1] > 0 ? -norm : norm;
    off[k] = alpha;
    v[k + 1] -= alpha;
    let vv = 0;
    for (let i = k + 1; i < n; i++) vv += v[i] * v[i];
    if (vv === 0) continue;
    const beta = 2 / vv;
    // p = β·A·v, then A ← A − v·wᵀ − w·vᵀ with w = p − (β/2)(pᵀv)·v.
    let pv = 0;
    for (let i = k + 1; i < n; i++) {
      const row = i * n;
      const vi = v[i];
      let s = matrix[row + i] * vi;
      for (let j = k + 1; j < i; j++) {
        const a = matrix[row + j];
        s += a * v[j];
        p[j] += a * vi;
      }
      p[i] += s;
    }
    for (let i = k + 1; i < n; i++) {
      p[i] *= beta;
      pv += p[i] * v[i];
    }
    const half = (beta / 2) * pv;
    let zv = 0;
    for (let i = k + 1; i < n; i++) {
      p[i] -= half * v[i];
      zv += vector[i] * v[i];
    }
    zv *= beta;
    for (let i = k + 1; i < n; i++) {
      vector[i] -= zv * v[i];
      const vi = v[i];
      const wi = p[i];
      const row = i * n;
      for (let j = k + 1; j <= i; j++) matrix[row + j] -= vi * p[j] + wi * v[j];
    }
  }
  if (n > 1) off[n - 2] = matrix[(n - 1) * n + n - 2];
  for (let i = 0; i < n; i++) diagonal[i] = matrix[i * n + i];
  return { n, diagonal, off, vector };
}

export interface Tridiagonal {
  readonly n: number;
  readonly diagonal: Float64Array;
  /** `off[i]` stands between i and i + 1. */
  readonly off: Float64Array;
  readonly vector: Float64Array;
}

/** ln det V and zᵀV⁻¹z for V = share·M + (1 − share)·I, M positive semidefinite but for rounding. */
export function logDetAndForm(from: Tridiagonal, share: number, out: Float64Array): void {
  const { n, diagonal, off, vector } = from;
  const nugget = 1 - share;
  const least = 1e-3 * nugget;
  let logDet = 0;
  let form = 0;
  let pivot = 0;
  let carried = 0;
  let product = 1;
  for (let i = 0; i < n; i++) {
    let d = share * diagonal[i] + nugget;
    let z = vector[i];
    if (i > 0) {
      const l = (share * off[i - 1]) / pivot;
      d -= l * share * off[i - 1];
      z -= l * carried;
    }
    if (d < least) d = least;
    pivot = d;
    carried = z;
    form += (z * z) / d;
    product *= d;
    if (product < 1e-200 || product > 1e200) {
      logDet += Math.log(product);
      product = 1;
    }
  }
  out[0] = logDet + Math.log(product);
  out[1] = form;
}
