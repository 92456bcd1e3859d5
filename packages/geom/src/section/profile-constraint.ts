import { Matrix, pseudoInverse } from 'ml-matrix';
import { FettleError } from '../error.js';
import { type FlatShape, freedoms, movedShape } from './profile-shape.js';

/** What a machinist expects of the pieces of an outline, by their numbers from 0. `vertical` and `horizontal` are in the section's axes. */
export type Constraint =
  | {
      readonly kind: 'tangent' | 'parallel' | 'square' | 'equal-radius' | 'concentric';
      readonly pieces: readonly [number, number];
    }
  | { readonly kind: 'horizontal' | 'vertical'; readonly pieces: readonly [number] };

/** How far the shapes are from holding a constraint: zero where it holds; lengths in mm, turns in radians. */
export function disagreement(constraint: Constraint, shapes: readonly FlatShape[]): number[] {
  const [a, b] = constraint.pieces.map((i) => shapes[i]);
  switch (constraint.kind) {
    case 'horizontal':
      return [asLine(a, constraint).direction[1]];
    case 'vertical':
      return [asLine(a, constraint).direction[0]];
    case 'parallel': {
      const [p, q] = [asLine(a, constraint).direction, asLine(b, constraint).direction];
      return [p[0] * q[1] - p[1] * q[0]];
    }
    case 'square': {
      const [p, q] = [asLine(a, constraint).direction, asLine(b, constraint).direction];
      return [p[0] * q[0] + p[1] * q[1]];
    }
    case 'equal-radius':
      return [asArc(a, constraint).radius - asArc(b, constraint).radius];
    case 'concentric': {
      const [p, q] = [asArc(a, constraint).center, asArc(b, constraint).center];
      return [p[0] - q[0], p[1] - q[1]];
    }
    case 'tangent':
      return [tangencyGap(a, b, constraint)];
  }
}

/** Of a line and a circle: how far the line passes outside the rim. Of two circles: how far the rims pass each other. */
function tangencyGap(a: FlatShape, b: FlatShape, constraint: Constraint): number {
  if (a.kind === 'arc' && b.kind === 'arc') {
    const apart = Math.hypot(a.center[0] - b.center[0], a.center[1] - b.center[1]);
    const outside = apart - a.radius - b.radius;
    const inside = apart - Math.abs(a.radius - b.radius);
    return Math.abs(outside) < Math.abs(inside) ? outside : inside;
  }
  const [line, arc] = a.kind === 'line' ? [a, asArc(b, constraint)] : [asLine(b, constraint), a];
  const off = line.direction[0] * (arc.center[1] - line.point[1]) - line.direction[1] * (arc.center[0] - line.point[0]);
  return Math.abs(off) - arc.radius;
}

function asLine(shape: FlatShape, { kind, pieces }: Constraint): Extract<FlatShape, { kind: 'line' }> {
  if (shape?.kind === 'line') return shape;
  throw wrongPiece(kind, pieces, 'lines');
}

function asArc(shape: FlatShape, { kind, pieces }: Constraint): Extract<FlatShape, { kind: 'arc' }> {
  if (shape?.kind === 'arc') return shape;
  throw wrongPiece(kind, pieces, 'arcs');
}

const wrongPiece = (kind: string, pieces: readonly number[], wanted: string) =>
  new FettleError(
    'constraint-pieces',
    `${kind} of pieces ${pieces.join(' and ')}: it is for ${wanted}, and not all of these are. Name pieces it can hold for.`,
  );

export interface Adjusted {
  readonly shapes: readonly FlatShape[];
  /** (p − p̂)ᵀ C⁻¹ (p − p̂): how far the shapes had to move, in squared standard uncertainties. Compare with `count`. */
  readonly strain: number;
  /** Number of independent conditions. */
  readonly count: number;
}

/**
 * Moves shapes by as little as their covariances allow so that the constraints hold exactly: least squares under conditions,
 * iterated (F. Helmert, "Die Ausgleichungsrechnung nach der Methode der kleinsten Quadrate", 1872; conditions only).
 * Conditions that say the same thing twice count once.
 *
 * @throws FettleError `constraint-pieces` for a constraint on pieces it is not for; `constraints-conflict` where no shapes hold all
 */
export function adjust(shapes: readonly FlatShape[], constraints: readonly Constraint[]): Adjusted {
  if (constraints.length === 0) return { shapes, strain: 0, count: 0 };
  const starts: number[] = [];
  let size = 0;
  for (const shape of shapes) {
    starts.push(size);
    size += freedoms(shape);
  }
  const covariance = Matrix.zeros(size, size);
  shapes.forEach((shape, k) => {
    const m = freedoms(shape);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) covariance.set(starts[k] + i, starts[k] + j, shape.covariance[i * m + j]);
  });
  const movedBy = (delta: ArrayLike<number>) => shapes.map((s, k) => movedShape(s, delta, starts[k]));
  const conditions = (delta: ArrayLike<number>) => constraints.flatMap((c) => disagreement(c, movedBy(delta)));

  const delta = new Float64Array(size);
  let solved = Matrix.zeros(0, 0);
  let jacobian = Matrix.zeros(0, size);
  let count = 0;
  for (let pass = 0; pass < 30; pass++) {
    const values = conditions(delta);
    jacobian = slopes(conditions, delta, covariance, values.length);
    const normal = jacobian.mmul(covariance).mmul(jacobian.transpose());
    // Conditions in squared standard uncertainties differ by orders; those dependent on others vanish in the pseudo-inverse.
    const scales = normal.diagonal().map((d) => (d > 0 ? 1 / Math.sqrt(d) : 0));
    const scaled = normal.clone();
    for (let i = 0; i < values.length; i++)
      for (let j = 0; j < values.length; j++) scaled.set(i, j, scaled.get(i, j) * scales[i] * scales[j]);
    solved = pseudoInverse(scaled, 1e-10);
    for (let i = 0; i < values.length; i++)
      for (let j = 0; j < values.length; j++) solved.set(i, j, solved.get(i, j) * scales[i] * scales[j]);
    count = Math.round(scaled.mmul(pseudoInverse(scaled, 1e-10)).trace());
    const aim = values.map((c, i) => c - jacobian.getRow(i).reduce((sum, g, p) => sum + g * delta[p], 0));
    const next = covariance.mmul(jacobian.transpose()).mmul(solved).mmul(Matrix.columnVector(aim)).to1DArray();
    let step = 0;
    for (let p = 0; p < size; p++) {
      step = Math.max(step, Math.abs(-next[p] - delta[p]));
      delta[p] = -next[p];
    }
    if (step < 1e-13 * (1 + Math.max(...delta.map(Math.abs)))) break;
  }
  const left = conditions(delta).reduce((most, c) => Math.max(most, Math.abs(c)), 0);
  if (!(left < 1e-9))
    throw new FettleError(
      'constraints-conflict',
      `The constraints cannot all hold: ${left.toPrecision(2)} is left of them. Leave one out.`,
    );
  const gain = covariance.mmul(jacobian.transpose()).mmul(solved);
  const after = Matrix.sub(covariance, gain.mmul(jacobian).mmul(covariance));
  const moves = Matrix.columnVector([...delta]);
  const pulled = jacobian.mmul(moves);
  const strain = pulled.transpose().mmul(solved).mmul(pulled).get(0, 0);
  const adjusted = movedBy(delta).map((shape, k) => {
    const m = freedoms(shape);
    return {
      ...shape,
      covariance: Float64Array.from({ length: m * m }, (_, i) =>
        after.get(starts[k] + Math.floor(i / m), starts[k] + (i % m)),
      ),
    };
  });
  return { shapes: adjusted, strain, count };
}

/** Derivatives of the conditions by central differences, each over a tenth of the parameter's standard uncertainty or 1 nm. */
function slopes(
  conditions: (delta: ArrayLike<number>) => number[],
  delta: Float64Array,
  covariance: Matrix,
  rows: number,
): Matrix {
  const jacobian = Matrix.zeros(rows, delta.length);
  const moved = Float64Array.from(delta);
  for (let p = 0; p < delta.length; p++) {
    const step = Math.max(1e-6, 0.1 * Math.sqrt(covariance.get(p, p)));
    moved[p] = delta[p] + step;
    const above = conditions(moved);
    moved[p] = delta[p] - step;
    const below = conditions(moved);
    moved[p] = delta[p];
    for (let i = 0; i < rows; i++) jacobian.set(i, p, (above[i] - below[i]) / (2 * step));
  }
  return jacobian;
}

/** Standard uncertainty of what a constraint asks to be zero, one a condition. */
export function disagreementUncertainty(constraint: Constraint, shapes: readonly FlatShape[]): number[] {
  const own = constraint.pieces.map((i) => shapes[i]);
  const local = { ...constraint, pieces: constraint.pieces.map((_, i) => i) } as unknown as Constraint;
  const value = disagreement(local, own);
  const variances = value.map(() => 0);
  own.forEach((shape, k) => {
    const m = freedoms(shape);
    const gradient = value.map(() => new Float64Array(m));
    for (let p = 0; p < m; p++) {
      const step = Math.max(1e-6, 0.1 * Math.sqrt(shape.covariance[p * m + p]));
      const delta = new Float64Array(m);
      const at = (s: number) => {
        delta[p] = s;
        return disagreement(
          local,
          own.map((o, i) => (i === k ? movedShape(o, delta) : o)),
        );
      };
      const above = at(step);
      const below = at(-step);
      value.forEach((_, c) => {
        gradient[c][p] = (above[c] - below[c]) / (2 * step);
      });
    }
    value.forEach((_, c) => {
      for (let i = 0; i < m; i++)
        for (let j = 0; j < m; j++) variances[c] += gradient[c][i] * shape.covariance[i * m + j] * gradient[c][j];
    });
  });
  return variances.map(Math.sqrt);
}
