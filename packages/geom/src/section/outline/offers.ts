import type { Vec2 } from '../../math/vec2.js';
import { type Constraint, disagreement, disagreementUncertainty, slopesOf } from './constraint.js';
import type { Profile, ProfilePiece } from './pieces.js';
import { freedoms } from './shape.js';

/** A constraint the data do not speak against, and what it would cost. */
export interface Offer {
  readonly constraint: Constraint;
  /** Largest disagreement now, mm or radians, and its expanded uncertainty (95 %). */
  readonly disagreement: number;
  readonly uncertainty: number;
  /** How much the rms of the pieces concerned would rise together if they took all of it, mm, to first order. */
  readonly cost: number;
}

/**
 * Constraints within their uncertainty (coverage factor 2): parallel, square, equal radius, concentric, horizontal, vertical.
 *
 * @param level what counts as horizontal, in the section's axes; default: their x
 */
export function offers(profile: Profile, level?: Vec2): Offer[] {
  const shapes = profile.pieces.map((p) => p.shape);
  return possible(profile, level).flatMap((constraint): Offer[] => {
    const off = disagreement(constraint, shapes);
    const standard = disagreementUncertainty(constraint, shapes);
    if (!off.every((d, c) => Math.abs(d) <= 2 * standard[c])) return [];
    const worst = off.reduce((w, d, c) => (Math.abs(d) > Math.abs(off[w]) ? c : w), 0);
    const concerned = constraint.pieces.map((k) => profile.pieces[k]);
    const count = concerned.reduce((sum, p) => sum + p.to - p.from, 0);
    const squares = concerned.reduce((sum, p) => sum + p.rms ** 2 * (p.to - p.from), 0);
    const more = squaresMoved(constraint, off, standard, profile.pieces);
    const cost = Math.sqrt((squares + more) / count) - Math.sqrt(squares / count);
    return [{ constraint, disagreement: off[worst], uncertainty: 2 * standard[worst], cost }];
  });
}

/**
 * What the points of a constraint's pieces add to their squares when each piece moves as far as its covariance lets it to take its
 * share, mm². By the covariance alone it would be σ² for each squared standard uncertainty, but only of points that err alone:
 * waves take more of a piece's freedom than their points' squares tell.
 */
function squaresMoved(
  constraint: Constraint,
  off: readonly number[],
  standard: readonly number[],
  pieces: readonly ProfilePiece[],
): number {
  const shapes = pieces.map((p) => p.shape);
  let sum = 0;
  for (const { piece, rows } of slopesOf(constraint, shapes)) {
    const { shape, to, from } = pieces[piece];
    const m = freedoms(shape);
    const move = new Float64Array(m);
    rows.forEach((slopes, c) => {
      if (!(standard[c] > 0)) return;
      for (let i = 0; i < m; i++)
        for (let j = 0; j < m; j++)
          move[i] -= (shape.covariance[i * m + j] * slopes[j] * off[c]) / (standard[c] * standard[c]);
    });
    sum += (to - from) * squareOver(pieces[piece], move);
  }
  return sum;
}

/** Mean square over a piece of how far it comes to lie off when its shape moves a little, mm². */
function squareOver(piece: ProfilePiece, move: Float64Array): number {
  if (piece.kind === 'line') {
    const { point, direction } = piece.shape;
    const along = ([x, y]: Vec2) => (x - point[0]) * direction[0] + (y - point[1]) * direction[1];
    const [a, b] = [along(piece.start), along(piece.end)];
    return move[0] ** 2 + move[0] * move[1] * (a + b) + (move[1] ** 2 * (a * a + a * b + b * b)) / 3;
  }
  const { start, sweep, shape } = piece;
  const first = Math.atan2(start[1] - shape.center[1], start[0] - shape.center[0]);
  let sum = 0;
  for (let i = 0; i < PLACES; i++) {
    const angle = first + (sweep * (i + 0.5)) / PLACES;
    sum += (move[0] * Math.cos(angle) + move[1] * Math.sin(angle) + move[2]) ** 2;
  }
  return sum / PLACES;
}

/** Places on an arc at which it is looked how far it moves. */
const PLACES = 64;

/** Every constraint there could be, less those that hold already. */
function possible({ pieces, constraints }: Profile, level: Vec2 | undefined): Constraint[] {
  const found: Constraint[] = [];
  pieces.forEach(({ kind }, i) => {
    if (kind === 'line')
      for (const k of ['horizontal', 'vertical'] as const)
        found.push({ kind: k, pieces: [i], ...(level && { level }) });
    for (let j = i + 1; j < pieces.length; j++) {
      if (pieces[j].kind !== kind) continue;
      const kinds = kind === 'line' ? (['parallel', 'square'] as const) : (['equal-radius', 'concentric'] as const);
      for (const k of kinds) found.push({ kind: k, pieces: [i, j] });
    }
  });
  const nameOf = ({ kind, pieces: own }: Constraint) => `${kind} ${[...own].sort((a, b) => a - b).join(' ')}`;
  const held = new Set(constraints.map(nameOf));
  return found.filter((c) => !held.has(nameOf(c)));
}
