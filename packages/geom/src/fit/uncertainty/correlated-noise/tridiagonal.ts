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
    let i = c + 1;
    if ((n - i) % 2 === 1) {
      // What is left is an odd number of rows: the first of them holds its diagonal alone.
      const a = matrix[i * n + i] - 2 * v[i] * w[i];
      matrix[i * n + i] = a;
      p[i] += a * nextV[i];
      i++;
    }
    for (; i < n; i += 2) addTwoRows(matrix, n, i, c + 1, v, w, nextV, p);
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

/**
 * Rows i and i + 1 of A − v·wᵀ − w·vᵀ, from column `from` to the diagonal, and their part of its product with `x`, into `p`. Two rows at once:
 * what the columns hold is read once for both.
 */
function addTwoRows(
  matrix: Float64Array,
  n: number,
  i: number,
  from: number,
  v: Float64Array,
  w: Float64Array,
  x: Float64Array,
  p: Float64Array,
): void {
  const row = i * n;
  const below = row + n;
  const v0 = v[i];
  const w0 = w[i];
  const x0 = x[i];
  const v1 = v[i + 1];
  const w1 = w[i + 1];
  const x1 = x[i + 1];
  let sum0 = 0;
  let sum1 = 0;
  for (let j = from; j < i; j++) {
    const vj = v[j];
    const wj = w[j];
    const xj = x[j];
    const a0 = matrix[row + j] - v0 * wj - w0 * vj;
    const a1 = matrix[below + j] - v1 * wj - w1 * vj;
    matrix[row + j] = a0;
    matrix[below + j] = a1;
    sum0 += a0 * xj;
    sum1 += a1 * xj;
    p[j] += a0 * x0 + a1 * x1;
  }
  const first = matrix[row + i] - 2 * v0 * w0;
  const between = matrix[below + i] - v1 * w0 - w1 * v0;
  const second = matrix[below + i + 1] - 2 * v1 * w1;
  matrix[row + i] = first;
  matrix[below + i] = between;
  matrix[below + i + 1] = second;
  p[i] += sum0 + first * x0 + between * x1;
  p[i + 1] += sum1 + between * x0 + second * x1;
}

export interface Tridiagonal {
  readonly n: number;
  readonly diagonal: Float64Array;
  /** `off[i]` stands between i and i + 1. */
  readonly off: Float64Array;
  readonly vector: Float64Array;
}

/** At most the least eigenvalue, and off it by a millionth of the largest: bisection on the signs of the pivots (Golub & Van Loan, 8.4.1). */
export function leastEigenvalue({ n, diagonal, off }: Omit<Tridiagonal, 'vector'>): number {
  let low = Infinity;
  let high = Infinity;
  let most = 0;
  for (let i = 0; i < n; i++) {
    const beside = (i > 0 ? Math.abs(off[i - 1]) : 0) + (i < n - 1 ? Math.abs(off[i]) : 0);
    low = Math.min(low, diagonal[i] - beside);
    high = Math.min(high, diagonal[i]);
    most = Math.max(most, Math.abs(diagonal[i]) + beside);
  }
  const isAboveLeast = (x: number): boolean => {
    let pivot = 1;
    for (let i = 0; i < n; i++) {
      pivot = diagonal[i] - x - (i > 0 ? off[i - 1] ** 2 / pivot : 0);
      if (pivot <= 0) return true;
    }
    return false;
  };
  while (high - low > 1e-6 * most) {
    const middle = (low + high) / 2;
    if (isAboveLeast(middle)) high = middle;
    else low = middle;
  }
  return low;
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
