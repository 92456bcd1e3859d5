import type { Vec2 } from '../../math/vec2.js';
import type { Profile, ProfileLine, ProfilePiece } from './pieces.js';
import { flatDistance } from './shape.js';

/** A number a drawing of the profile would show. Lengths in mm, angles in radians, areas in mm². */
export interface ProfileMeasure {
  readonly kind: 'radius' | 'angle' | 'width' | 'depth' | 'area';
  /** The pieces it is of, by their places in the profile; of an area none. */
  readonly pieces: readonly number[];
  readonly value: number;
  /** Standard uncertainty from the scatter of the points; of an area absent. */
  readonly standard?: number;
  /** Of an angle: the length of its shorter side, mm. */
  readonly over?: number;
}

/**
 * Radii of arcs; at each corner of two lines the angle between them, as of the material or of the gap, under π; widths between
 * parallel lines that run opposite ways beside each other, and depths of steps from a line to the next but one that runs the
 * same way; the enclosed area. Lines count as parallel where they are held so, or their angle is within its uncertainty (coverage
 * factor 2).
 */
export function profileMeasures(profile: Profile): ProfileMeasure[] {
  const { pieces, joins, closed, area } = profile;
  const found: ProfileMeasure[] = [];
  pieces.forEach((piece, k) => {
    if (piece.kind !== 'arc') return;
    const { radius, covariance } = piece.shape;
    found.push({ kind: 'radius', pieces: [k], value: radius, standard: Math.sqrt(covariance[8]) });
  });
  joins.forEach((join, k) => {
    const next = (k + 1) % pieces.length;
    const [a, b] = [pieces[k], pieces[next]];
    if (join.kind !== 'corner' || a.kind !== 'line' || b.kind !== 'line') return;
    const over = Math.min(a.length, b.length);
    const value = Math.PI - Math.abs(join.turn);
    found.push({ kind: 'angle', pieces: [k, next], value, standard: join.turnUncertainty, over });
  });
  for (let i = 0; i < pieces.length; i++)
    for (let j = i + 1; j < pieces.length; j++) {
      const across = betweenParallels(pieces[i], pieces[j]);
      if (!across) continue;
      const steps = closed ? Math.min(j - i, pieces.length - j + i) : j - i;
      if (across.isOpposite ? !across.overlap : steps !== 2) continue;
      const { value, standard } = across;
      found.push({ kind: across.isOpposite ? 'width' : 'depth', pieces: [i, j], value, standard });
    }
  if (area !== undefined) found.push({ kind: 'area', pieces: [], value: area });
  return found;
}

function betweenParallels(a: ProfilePiece, b: ProfilePiece) {
  if (a.kind !== 'line' || b.kind !== 'line') return undefined;
  const [p, q] = [a.shape.direction, b.shape.direction];
  const turn = Math.asin(Math.max(-1, Math.min(1, p[0] * q[1] - p[1] * q[0])));
  const doubt = Math.sqrt(a.shape.covariance[3] + b.shape.covariance[3]);
  if (Math.abs(turn) > Math.max(2 * doubt, 1e-9)) return undefined;
  const middle: Vec2 = [(b.start[0] + b.end[0]) / 2, (b.start[1] + b.end[1]) / 2];
  const along = (v: Vec2) => (v[0] - a.start[0]) * p[0] + (v[1] - a.start[1]) * p[1];
  const [low, high] = [along(b.start), along(b.end)].sort((x, y) => x - y);
  const value = Math.abs(flatDistance(a.shape, ...middle));
  return {
    value,
    standard: Math.sqrt(shiftVariance(a, middle) + shiftVariance(b, middle)),
    isOpposite: p[0] * q[0] + p[1] * q[1] < 0,
    overlap: high > 0 && low < a.length,
  };
}

/** Variance of a line's place across itself, beside a point, mm². */
function shiftVariance({ shape }: ProfileLine, [x, y]: Vec2): number {
  const s = (x - shape.point[0]) * shape.direction[0] + (y - shape.point[1]) * shape.direction[1];
  const c = shape.covariance;
  return Math.max(0, c[0] + 2 * s * c[1] + s * s * c[3]);
}
