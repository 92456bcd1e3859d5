import { Matrix, QrDecomposition } from 'ml-matrix';

/** Columns nearer to what the others span than this, in the length they have beside them, are left out. */
const DEPENDENT = 1e-7;

/**
 * The x with no element below zero for which |A·x − b| is least: the active-set method of Lawson & Hanson (Solving Least Squares
 * Problems, 1974, chapter 23), by QR of the columns in use.
 *
 * Tried: ml-fcnnls, which works on AᵀA. Columns that are nearly alike, such as variograms of neighboring lengths, are past what
 * that carries.
 *
 * @param columns of A, each as long as `right`
 */
export function nonNegativeLeastSquares(columns: readonly Float64Array[], right: Float64Array): Float64Array {
  const n = columns.length;
  const x = new Float64Array(n);
  const norms = columns.map((column) => Math.sqrt(column.reduce((sum, a) => sum + a * a, 0)));
  const scale = Math.sqrt(right.reduce((sum, b) => sum + b * b, 0));
  let passive: number[] = [];
  const barred = new Set<number>(norms.flatMap((norm, j) => (norm > 0 ? [] : [j])));
  for (let round = 0; round < 3 * n; round++) {
    const left = right.slice();
    for (const j of passive) for (let i = 0; i < left.length; i++) left[i] -= x[j] * columns[j][i];
    let best = -1;
    let steepest = 1e-10 * scale;
    for (let j = 0; j < n; j++) {
      if (passive.includes(j) || barred.has(j)) continue;
      let slope = 0;
      for (let i = 0; i < left.length; i++) slope += columns[j][i] * left[i];
      if (slope / norms[j] > steepest) {
        steepest = slope / norms[j];
        best = j;
      }
    }
    if (best < 0) break;
    const before = passive;
    passive = [...passive, best];
    let trial = solve(columns, norms, passive, right);
    // A column that is already there, or would come in negative by rounding, is none.
    if (!trial || trial[trial.length - 1] <= 0) {
      barred.add(best);
      passive = before;
      continue;
    }
    while (trial?.some((value) => value <= 0)) {
      let step = 1;
      passive.forEach((j, k) => {
        if (trial![k] <= 0) step = Math.min(step, x[j] / (x[j] - trial![k]));
      });
      passive.forEach((j, k) => {
        x[j] += step * (trial![k] - x[j]);
      });
      const stays = passive.map((j, k) => trial![k] > 0 || x[j] > 1e-14 * scale);
      passive.forEach((j, k) => {
        if (!stays[k]) x[j] = 0;
      });
      const fewer = passive.filter((_, k) => stays[k]);
      if (fewer.length === passive.length) break;
      passive = fewer;
      trial = solve(columns, norms, passive, right);
    }
    passive.forEach((j, k) => {
      x[j] = Math.max(0, trial?.[k] ?? x[j]);
    });
  }
  return x;
}

/** Least squares on the columns in use; undefined where one of them depends on the others. */
function solve(
  columns: readonly Float64Array[],
  norms: readonly number[],
  used: readonly number[],
  right: Float64Array,
): number[] | undefined {
  if (used.length > right.length) return undefined;
  const matrix = new Matrix(Array.from(right, (_, i) => used.map((j) => columns[j][i] / norms[j])));
  const qr = new QrDecomposition(matrix);
  const upper = qr.upperTriangularMatrix;
  for (let k = 0; k < used.length; k++) if (!(Math.abs(upper.get(k, k)) > DEPENDENT)) return undefined;
  const solved = qr.solve(Matrix.columnVector(Array.from(right))).to1DArray();
  return solved.map((value, k) => value / norms[used[k]]);
}
