import { EigenvalueDecomposition, Matrix, solve } from 'ml-matrix';
import { symmetricEigen } from '../../math/symmetric-eigen.js';

/** The points center + A·(cos φ, sin φ), A = (xx, xy; xy, yy) positive definite; in the plane's axes, mm. */
export interface EllipseMatrix {
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

/**
 * The ellipse least by Σ(conic)² with 4ac − b² = 1 (Halíř & Flusser, WSCG 1998); undefined where the points give none.
 * It is too small on short arcs: a start.
 *
 * @param xy xy xy …, mm
 */
export function algebraicEllipse(xy: Float64Array): EllipseMatrix | undefined {
  const n = xy.length / 2;
  let [mx, my, size] = [0, 0, 0];
  for (let k = 0; k < xy.length; k += 2) {
    mx += xy[k] / n;
    my += xy[k + 1] / n;
  }
  for (let k = 0; k < xy.length; k += 2) size += ((xy[k] - mx) ** 2 + (xy[k + 1] - my) ** 2) / n;
  size = Math.sqrt(size);
  const [s1, s2, s3] = [Matrix.zeros(3, 3), Matrix.zeros(3, 3), Matrix.zeros(3, 3)];
  for (let k = 0; k < xy.length; k += 2) {
    const [x, y] = [(xy[k] - mx) / size, (xy[k + 1] - my) / size];
    const [quadratic, linear] = [
      [x * x, x * y, y * y],
      [x, y, 1],
    ];
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        s1.set(i, j, s1.get(i, j) + quadratic[i] * quadratic[j]);
        s2.set(i, j, s2.get(i, j) + quadratic[i] * linear[j]);
        s3.set(i, j, s3.get(i, j) + linear[i] * linear[j]);
      }
  }
  const reduced = solve(s3, s2.transpose()).mul(-1);
  const m = Matrix.add(s1, s2.mmul(reduced)).to2DArray();
  const { eigenvectorMatrix } = new EigenvalueDecomposition(
    new Matrix([m[2].map((c) => c / 2), m[1].map((c) => -c), m[0].map((c) => c / 2)]),
  );
  for (let k = 0; k < 3; k++) {
    const v = eigenvectorMatrix.getColumn(k);
    if (!(4 * v[0] * v[2] - v[1] * v[1] > 0)) continue;
    const w = reduced.mmul(Matrix.columnVector(v)).to1DArray();
    const state = fromConic([...v, ...w]);
    if (!state) continue;
    return {
      x: mx + size * state.x,
      y: my + size * state.y,
      xx: size * state.xx,
      xy: size * state.xy,
      yy: size * state.yy,
    };
  }
  return undefined;
}

/** a·x² + b·xy + c·y² + d·x + e·y + f = 0 as center and matrix. */
function fromConic([a, b, c, d, e, f]: readonly number[]): EllipseMatrix | undefined {
  const det = 4 * a * c - b * b;
  const [x, y] = [(b * e - 2 * c * d) / det, (b * d - 2 * a * e) / det];
  const level = -(f + (d * x + e * y) / 2);
  const { values, vectors } = symmetricEigen([a / level, b / 2 / level, b / 2 / level, c / level], 2);
  if (!(values[0] > 0)) return undefined;
  const part = (i: number, j: number) =>
    values.reduce((sum, value, k) => sum + (vectors[k][i] * vectors[k][j]) / Math.sqrt(value), 0);
  return { x, y, xx: part(0, 0), xy: part(0, 1), yy: part(1, 1) };
}
