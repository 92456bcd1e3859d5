/**
 * Turn a symmetric matrix, n×n row-major (destroyed; the lower triangle is read), into tridiagonal form by Householder reflections
 * and turn `vector` along (Golub & Van Loan, "Matrix Computations", 4th ed., 8.3.1). Afterwards any matrix
 * a·M + b·I is solved and its determinant had in n steps.
 */
export function tridiagonalize(matrix: Float64Array, n: number, vector: Float64Array): Tridiagonal {
  const diagonal = new Float64Array(n);
  const off = new Float64Array(n);
  // The reflection at hand is I − β·v·vᵀ; it takes A to A − v·wᵀ − w·vᵀ with w = p − (β/2)(pᵀv)·v, p = β·A·v. The step before is
  // taken in the same pass over the matrix that multiplies it by the next v.
  let v = new Float64Array(n);
  let w = new Float64Array(n);
  let nextV = new Float64Array(n);
  let p = new Float64Array(n);
  for (let k = -1; k < n - 1; k++) {
    const c = k + 1;
    diagonal[c] = matrix[c * n + c] - 2 * v[c] * w[c];
    if (c >= n - 1) break;
    let norm = 0;
    for (let i = c + 1; i < n; i++) {
      const x = matrix[i * n + c] - v[i] * w[c] - w[i] * v[c];
      nextV[i] = x;
      p[i] = 0;
      norm += x * x;
    }
    if (c === n - 2) {
      off[c] = nextV[c + 1];
      diagonal[c + 1] = matrix[(c + 1) * n + c + 1] - 2 * v[c + 1] * w[c + 1];
      break;
    }
    norm = Math.sqrt(norm);
    const alpha = nextV[c + 1] > 0 ? -norm : norm;
    off[c] = alpha;
    nextV[c + 1] -= alpha;
    let vv = 0;
    for (let i = c + 1; i < n; i++) vv += nextV[i] * nextV[i];
    const beta = vv > 0 ? 2 / vv : 0;
    for (let i = c + 1; i < n; i++) {
      const row = i * n;
      const vi = v[i];
      const wi = w[i];
      const ni = nextV[i];
      let s = 0;
      for (let j = c + 1; j < i; j++) {
        const a = matrix[row + j] - vi * w[j] - wi * v[j];
        matrix[row + j] = a;
        s += a * nextV[j];
        p[j] += a * ni;
      }
      const a = matrix[row + i] - 2 * vi * wi;
      matrix[row + i] = a;
      p[i] += s + a * ni;
    }
    let pv = 0;
    let zv = 0;
    for (let i = c + 1; i < n; i++) {
      p[i] *= beta;
      pv += p[i] * nextV[i];
      zv += vector[i] * nextV[i];
    }
    const half = (beta / 2) * pv;
    zv *= beta;
    for (let i = c + 1; i < n; i++) {
      p[i] -= half * nextV[i];
      vector[i] -= zv * nextV[i];
    }
    [v, nextV] = [nextV, v];
    [w, p] = [p, w];
  }
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
