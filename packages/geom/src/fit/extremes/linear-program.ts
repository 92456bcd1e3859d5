import { LuDecomposition, Matrix } from 'ml-matrix';

/** Minimize cost·x subject to rows[r]·x ≥ least[r] for every r. */
export interface LinearProgram {
  readonly cost: readonly number[];
  readonly rows: readonly (readonly number[])[];
  readonly least: readonly number[];
}

export interface LinearOptimum {
  readonly x: readonly number[];
  readonly value: number;
  /** The rows that decide x, as many as unknowns. */
  readonly basis: readonly number[];
  /** Nonnegative, one a row of the basis: cost = Σ multiplier · row. */
  readonly multipliers: readonly number[];
}

/**
 * Dual simplex: from a basis whose multipliers are nonnegative, exchange the most violated row for the one whose
 * multiplier reaches zero first (Stiefel's exchange, when the program is a Chebyshev fit). For a handful of unknowns
 * and some hundred rows; the basis is taken apart anew at every exchange, which costs microseconds and keeps no error.
 *
 * @returns undefined when the basis becomes singular or the exchange does not end
 */
export function minimizeLinear(program: LinearProgram, start: readonly number[]): LinearOptimum | undefined {
  const { cost, rows, least } = program;
  const basis = [...start];
  const size = Math.max(...least.map(Math.abs), 1e-300);
  for (let exchange = 0; exchange < 1000; exchange++) {
    const matrix = new Matrix(basis.map((r) => [...rows[r]]));
    const forward = new LuDecomposition(matrix);
    const backward = new LuDecomposition(matrix.transpose());
    if (forward.isSingular() || backward.isSingular()) return undefined;
    const solve = (lu: LuDecomposition, right: readonly number[]) =>
      lu.solve(Matrix.columnVector([...right])).to1DArray();
    const x = solve(
      forward,
      basis.map((r) => least[r]),
    );
    const multipliers = solve(backward, cost);
    let entering = -1;
    let worst = 4 * Number.EPSILON * size;
    for (let r = 0; r < rows.length; r++) {
      let short = least[r];
      for (let j = 0; j < x.length; j++) short -= rows[r][j] * x[j];
      if (short > worst && !basis.includes(r)) {
        worst = short;
        entering = r;
      }
    }
    if (entering < 0) {
      const value = cost.reduce((sum, c, j) => sum + c * x[j], 0);
      return { x, value, basis, multipliers };
    }
    const parts = solve(backward, rows[entering]);
    let leaving = -1;
    let ratio = Number.POSITIVE_INFINITY;
    for (let k = 0; k < basis.length; k++) {
      if (parts[k] <= 1e-12) continue;
      const r = Math.max(0, multipliers[k]) / parts[k];
      // Among equals the larger pivot.
      if (r < ratio || (r === ratio && parts[k] > parts[leaving])) {
        ratio = r;
        leaving = k;
      }
    }
    if (leaving < 0) return undefined;
    basis[leaving] = entering;
  }
  return undefined;
}
