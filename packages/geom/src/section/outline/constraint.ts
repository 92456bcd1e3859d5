import { FettleError } from '../../error.js';
import type { Vec2 } from '../../math/vec2.js';
import { type FlatShape, freedoms, movedShape } from './shape.js';

/** What a machinist expects of the pieces of an outline, by their numbers from 0. */
export type Constraint =
  | {
      readonly kind: 'tangent' | 'parallel' | 'square' | 'equal-radius' | 'concentric';
      readonly pieces: readonly [number, number];
    }
  | {
      readonly kind: 'horizontal' | 'vertical';
      readonly pieces: readonly [number];
      /** What counts as horizontal, in the section's axes, unit length. Default: their x. */
      readonly level?: Vec2;
    };

const X_AXIS: Vec2 = [1, 0];

/** How far the shapes are from holding a constraint: zero where it holds; lengths in mm, turns in radians. */
export function disagreement(constraint: Constraint, shapes: readonly FlatShape[]): number[] {
  const [a, b] = constraint.pieces.map((i) => shapes[i]);
  switch (constraint.kind) {
    case 'horizontal': {
      const [p, [x, y]] = [asLine(a, constraint).direction, constraint.level ?? X_AXIS];
      return [x * p[1] - y * p[0]];
    }
    case 'vertical': {
      const [p, [x, y]] = [asLine(a, constraint).direction, constraint.level ?? X_AXIS];
      return [x * p[0] + y * p[1]];
    }
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

/** How a condition changes as the shapes of one piece move: one row a condition, one column a freedom of the piece. */
export interface Slope {
  readonly piece: number;
  readonly rows: readonly Float64Array[];
}

/** Far enough above rounding and far below any curvature of the conditions, mm or radians. */
const STEP = 1e-5;

/** Derivatives of what a constraint asks to be zero, one for each of its pieces: of tangency, asked by the thousand, written out. */
export function slopesOf(constraint: Constraint, shapes: readonly FlatShape[]): Slope[] {
  if (constraint.kind === 'tangent') return tangencySlopes(constraint, shapes);
  return differencesOf(constraint, shapes);
}

function tangencySlopes(constraint: Constraint, shapes: readonly FlatShape[]): Slope[] {
  const [i, j] = constraint.pieces as readonly [number, number];
  const [a, b] = [shapes[i], shapes[j]];
  if (a.kind === 'arc' && b.kind === 'arc') {
    const [x, y] = [a.center[0] - b.center[0], a.center[1] - b.center[1]];
    const apart = Math.hypot(x, y);
    const [ux, uy] = apart > 0 ? [x / apart, y / apart] : [0, 0];
    const isOutside = Math.abs(apart - a.radius - b.radius) < Math.abs(apart - Math.abs(a.radius - b.radius));
    const inner = Math.sign(a.radius - b.radius);
    return [
      { piece: i, rows: [Float64Array.of(ux, uy, isOutside ? -1 : -inner)] },
      { piece: j, rows: [Float64Array.of(-ux, -uy, isOutside ? -1 : inner)] },
    ];
  }
  const [line, arc] = a.kind === 'line' ? [a, asArc(b, constraint)] : [asLine(b, constraint), a];
  const [dx, dy] = line.direction;
  const [x, y] = [arc.center[0] - line.point[0], arc.center[1] - line.point[1]];
  const side = Math.sign(dx * y - dy * x);
  const ofLine = Float64Array.of(-side, -side * (dx * x + dy * y));
  const ofArc = Float64Array.of(-side * dy, side * dx, -1);
  return [
    { piece: i, rows: [a.kind === 'line' ? ofLine : ofArc] },
    { piece: j, rows: [a.kind === 'line' ? ofArc : ofLine] },
  ];
}

/** By central differences. */
function differencesOf(constraint: Constraint, shapes: readonly FlatShape[]): Slope[] {
  const { pieces } = constraint;
  const own = pieces.map((i) => shapes[i]);
  const local = { ...constraint, pieces: pieces.map((_, i) => i) } as unknown as Constraint;
  return pieces.map((piece, k) => {
    const m = freedoms(own[k]);
    const rows = disagreement(local, own).map(() => new Float64Array(m));
    const delta = new Float64Array(m);
    for (let p = 0; p < m; p++) {
      const at = (by: number) => {
        delta[p] = by;
        return disagreement(
          local,
          own.map((o, i) => (i === k ? movedShape(o, delta) : o)),
        );
      };
      const above = at(STEP);
      const below = at(-STEP);
      delta[p] = 0;
      above.forEach((value, c) => {
        rows[c][p] = (value - below[c]) / (2 * STEP);
      });
    }
    return { piece, rows };
  });
}

/** Standard uncertainty of what a constraint asks to be zero, one a condition, its pieces' errors unrelated. */
export function disagreementUncertainty(constraint: Constraint, shapes: readonly FlatShape[]): number[] {
  const variances = disagreement(constraint, shapes).map(() => 0);
  for (const { piece, rows } of slopesOf(constraint, shapes)) {
    const { covariance } = shapes[piece];
    rows.forEach((g, c) => {
      const m = g.length;
      for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) variances[c] += g[i] * covariance[i * m + j] * g[j];
    });
  }
  return variances.map(Math.sqrt);
}
