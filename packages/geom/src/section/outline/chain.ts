import { Matrix, pseudoInverse } from 'ml-matrix';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { DisjointSets } from '../../scan/disjoint-sets.js';
import { type Constraint, disagreement, slopesOf } from './constraint.js';
import { fitFlat, shapeSums } from './fit.js';
import type { Outline } from './places.js';
import { type FlatShape, movedShape } from './shape.js';
import type { Stretch } from './split.js';

/** Shapes fitted together to stretches of an outline. */
export interface Chain {
  /** One a stretch; covariances are for points of unit standard deviation, unrelated to each other. */
  readonly shapes: readonly FlatShape[];
  /** Weighted sum of squared distances from all pieces, mm². */
  readonly loss: number;
  /** Per piece, how much more that is than what its own points leave of a free shape, mm². */
  readonly excess: readonly number[];
  /** Per constraint, how much of the loss is there for its sake, to first order, mm². */
  readonly tensions: readonly number[];
  /** Number of independent conditions. */
  readonly conditions: number;
}

/**
 * The lines and circles with the least weighted squared distances from their own points under constraints that hold exactly:
 * Gauss-Newton over the points, the conditions by Lagrange's multipliers (F. Helmert, "Die Ausgleichungsrechnung nach der
 * Methode der kleinsten Quadrate", 1872). The multipliers tell what each constraint costs beside the others (S. D. Silvey,
 * "The Lagrangian multiplier test", Ann. Math. Statist. 30 (1959)). Conditions that say the same thing twice count once.
 *
 * Moving free fits by as little as their covariances allow, without the points, was tried: the covariance of a fillet of twenty
 * points holds only near its own radius, and of fillets of 2.2 mm a thirtieth came out far from it.
 *
 * @returns undefined where no shapes are found that hold all constraints
 * @throws FettleError `constraint-pieces` for a constraint on pieces it is not for
 */
export function fitChain(
  outline: Outline,
  stretches: readonly Stretch[],
  constraints: readonly Constraint[],
): Chain | undefined {
  const model = outline.wave ?? outline.weights;
  if (!fitted.has(model)) fitted.set(model, new Map());
  const known = fitted.get(model)!;
  const key = `${stretches.map(({ from, to, shape }) => `${from} ${to} ${shape}`)} ${JSON.stringify(constraints)}`;
  if (!known.has(key)) known.set(key, fitAnew(outline, stretches, constraints));
  return known.get(key);
}

/** The same chains are looked at again and again while a profile settles. */
const fitted = new WeakMap<object, Map<string, Chain | undefined>>();

function fitAnew(
  outline: Outline,
  stretches: readonly Stretch[],
  constraints: readonly Constraint[],
): Chain | undefined {
  const free = stretches.map(({ from, to, shape }) => fitFlat(outline, shape, from, to));
  const shapes = [...free];
  const tensions = constraints.map(() => 0);
  let conditions = 0;
  for (const { pieces, own } of components(stretches.length, constraints)) {
    const solved = together(
      outline,
      pieces.map((k) => stretches[k]),
      pieces.map((k) => shapes[k]),
      own.map((c) => within(constraints[c], pieces)),
    );
    if (!solved) return undefined;
    for (const [i, k] of pieces.entries()) shapes[k] = solved.shapes[i];
    for (const [i, c] of own.entries()) tensions[c] = solved.tensions[i];
    conditions += solved.conditions;
  }
  let loss = 0;
  const excess = stretches.map(({ from, to }, k) => {
    const own = shapeSums(shapes[k], outline, from, to).loss;
    loss += own;
    return shapes[k] === free[k] ? 0 : own - shapeSums(free[k], outline, from, to).loss;
  });
  return { shapes, loss, excess, tensions, conditions };
}

/** Pieces that constraints tie to each other, with those constraints; untied ones are left out. */
function components(count: number, constraints: readonly Constraint[]): { pieces: number[]; own: number[] }[] {
  const sets = new DisjointSets(count);
  for (const { pieces } of constraints) for (const k of pieces) sets.merge(pieces[0], k);
  const found = new Map<number, { pieces: number[]; own: number[] }>();
  constraints.forEach(({ pieces }, c) => {
    const set = sets.find(pieces[0]);
    if (!found.has(set)) found.set(set, { pieces: [], own: [] });
    found.get(set)!.own.push(c);
  });
  for (let k = 0; k < count; k++) found.get(sets.find(k))?.pieces.push(k);
  return [...found.values()];
}

/** A constraint with its pieces numbered as in a list of some of them. */
const within = (constraint: Constraint, pieces: readonly number[]): Constraint =>
  ({ ...constraint, pieces: constraint.pieces.map((k) => pieces.indexOf(k)) }) as unknown as Constraint;

/** A condition's derivatives by the freedoms of each piece it is about. */
type Row = readonly { readonly piece: number; readonly slopes: Float64Array }[];

/** What a piece's points alone ask for. */
interface OwnSolution {
  /** Of its normal equations, row-major. */
  readonly inverse: Float64Array;
  readonly step: Float64Array;
}

const PASSES = 60;
/** How closely constraints hold, mm or radians. */
const HELD = 1e-9;

function together(
  outline: Outline,
  stretches: readonly Stretch[],
  starts: readonly FlatShape[],
  constraints: readonly Constraint[],
): Pick<Chain, 'shapes' | 'tensions' | 'conditions'> | undefined {
  let shapes = starts;
  for (let pass = 0; pass < PASSES; pass++) {
    const own = shapes.map((shape, k) => ownSolution(outline, stretches[k], shape));
    if (!own.every((o) => o !== undefined)) return undefined;
    const rows = constraints.map((c) => rowsOf(c, shapes));
    const off = constraints.map((c) => disagreement(c, shapes));
    const system = conditionSystem(rows.flat(), own);
    const aims = off
      .flat()
      .map((c, r) => c + system.rows[r].reduce((sum, s) => sum + dot(s.slopes, own[s.piece].step), 0));
    const multipliers = system.solve(aims);
    const pulls = own.map(({ step }) => new Float64Array(step.length));
    system.rows.forEach((row, r) => {
      for (const { piece, slopes } of row)
        for (let p = 0; p < slopes.length; p++) pulls[piece][p] += slopes[p] * multipliers[r];
    });
    const steps = own.map(({ step, inverse }, k) => {
      const back = times(inverse, pulls[k]);
      return step.map((s, p) => s - back[p]);
    });
    if (isSettled(steps, own) && off.flat().every((c) => Math.abs(c) < HELD)) {
      const inverse = system.inverse();
      return {
        shapes: shapes.map((shape, k) => ({ ...shape, covariance: tied(own[k].inverse, system.rows, inverse, k) })),
        tensions: tensionsOf(rows, multipliers, inverse),
        conditions: system.rank,
      };
    }
    const stride = Math.min(...steps.map((step, k) => strideFor(shapes[k], step)));
    shapes = shapes.map((shape, k) =>
      movedShape(
        shape,
        steps[k].map((s) => s * stride),
      ),
    );
  }
  return undefined;
}

function ownSolution(outline: Outline, { from, to }: Stretch, shape: FlatShape): OwnSolution | undefined {
  const { normal, right } = shapeSums(shape, outline, from, to);
  const parts = scaledCholesky(normal, right.length);
  return parts && { inverse: parts.inverse(), step: parts.solve(right) };
}

function rowsOf(constraint: Constraint, shapes: readonly FlatShape[]): Row[] {
  const slopes = slopesOf(constraint, shapes);
  return slopes[0].rows.map((_, r) => slopes.map(({ piece, rows }) => ({ piece, slopes: rows[r] })));
}

/** Conditions in squared standard uncertainties, J N⁻¹ Jᵀ, taken apart; those that follow from others count once. */
function conditionSystem(rows: readonly Row[], own: readonly OwnSolution[]) {
  const count = rows.length;
  const matrix = new Float64Array(count * count);
  const leaning = rows.map((row) =>
    row.map(({ piece, slopes }) => ({ piece, slopes: times(own[piece].inverse, slopes) })),
  );
  for (let i = 0; i < count; i++)
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (const a of rows[i]) for (const b of leaning[j]) if (a.piece === b.piece) sum += dot(a.slopes, b.slopes);
      matrix[i * count + j] = matrix[j * count + i] = sum;
    }
  const parts = scaledCholesky(matrix, count);
  if (parts) return { rows, rank: count, solve: parts.solve, inverse: parts.inverse };
  const { inverse, rank } = scaledPseudoInverse(matrix, count);
  return { rows, rank, solve: (right: ArrayLike<number>) => times(inverse, right), inverse: () => inverse };
}

export function scaledPseudoInverse(matrix: Float64Array, n: number): { inverse: Float64Array; rank: number } {
  const scale = Array.from({ length: n }, (_, i) => (matrix[i * n + i] > 0 ? 1 / Math.sqrt(matrix[i * n + i]) : 0));
  const scaled = new Matrix(n, n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) scaled.set(i, j, matrix[i * n + j] * scale[i] * scale[j]);
  const undone = pseudoInverse(scaled, 1e-10);
  const rank = Math.round(scaled.mmul(undone).trace());
  const at = (i: number, j: number) => undone.get(i, j) * scale[i] * scale[j];
  return { inverse: Float64Array.from({ length: n * n }, (_, k) => at(Math.floor(k / n), k % n)), rank };
}

/** Steps far below what the points know: a billionth of a standard uncertainty for noise of 1 mm. */
const isSettled = (steps: readonly Float64Array[], own: readonly OwnSolution[]): boolean =>
  steps.every((step, k) => step.every((s, p) => s * s <= 1e-18 * own[k].inverse[p * step.length + p]));

/** The share of a step after which a circle's radius has changed by half at most, and a line has turned by 0.3 rad at most. */
function strideFor(shape: FlatShape, step: Float64Array): number {
  const [change, most] = shape.kind === 'arc' ? [step[2], shape.radius / 2] : [step[1], 0.3];
  return Math.abs(change) > most ? most / Math.abs(change) : 1;
}

/** A piece's covariance beside the conditions: N⁻¹ − N⁻¹ Jᵀ (J N⁻¹ Jᵀ)⁻¹ J N⁻¹. */
function tied(own: Float64Array, rows: readonly Row[], inverse: Float64Array, piece: number): Float64Array {
  const m = Math.round(Math.sqrt(own.length));
  const leaning = rows.flatMap((row, r) =>
    row.filter((s) => s.piece === piece).map(({ slopes }) => ({ r, slopes: times(own, slopes) })),
  );
  const covariance = Float64Array.from(own);
  for (const a of leaning)
    for (const b of leaning) {
      const s = inverse[a.r * rows.length + b.r];
      for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) covariance[i * m + j] -= a.slopes[i] * s * b.slopes[j];
    }
  return covariance;
}

function tensionsOf(rows: readonly (readonly Row[])[], multipliers: Float64Array, inverse: Float64Array): number[] {
  const count = multipliers.length;
  let r = 0;
  return rows.map((own) =>
    Math.max(
      ...own.map(() => {
        const tension = multipliers[r] ** 2 / inverse[r * count + r];
        r++;
        return tension;
      }),
    ),
  );
}

export const dot = (a: ArrayLike<number>, b: ArrayLike<number>): number => {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
};

/** A square matrix, row-major, times a vector. */
export function times(matrix: Float64Array, vector: ArrayLike<number>): Float64Array {
  const n = vector.length;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) out[i] += matrix[i * n + j] * vector[j];
  return out;
}
