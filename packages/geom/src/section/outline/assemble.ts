import type { Vec2 } from '../../math/vec2.js';
import { enclosed } from './area.js';
import type { Constraint } from './constraint.js';
import { type Join, joinOf, type Side } from './join.js';
import type { Profile, ProfilePiece } from './pieces.js';
import { type Outline, pathLength } from './places.js';
import { type FlatShape, flatDistance, nearestOn } from './shape.js';
import type { Stretch } from './split.js';
import type { Waves } from './waviness.js';

/** What a profile is put together from: shapes with the covariances of the scan's noise, one a stretch. */
export interface Parts {
  readonly stretches: readonly Stretch[];
  readonly shapes: readonly FlatShape[];
  /** Covariance of each shape's freedoms (rows) with those of the next; absent: none. */
  readonly across?: readonly Float64Array[];
  readonly constraints: readonly Constraint[];
  readonly noise: number;
  readonly sigma: number;
  readonly waves?: Waves;
}

/** Pieces from end to end, and how they meet. */
export function assemble(
  outline: Outline,
  { stretches, shapes, across, constraints, noise, sigma, waves }: Parts,
): Profile {
  const { flat, closed } = outline;
  const n = flat.length / 2;
  const pointAt = (i: number): Vec2 => [flat[2 * (i % n)], flat[2 * (i % n) + 1]];
  const sides: Side[] = stretches.map(({ from, to }, k) => ({
    shape: shapes[k],
    counterclockwise: isCounterclockwise(shapes[k], outline, from, to),
    length: pathLength(outline, from, to),
  }));
  const count = stretches.length;
  const isLoop = closed && count > 1;
  const joins: Join[] = [];
  for (let i = 0; i < count - (isLoop ? 0 : 1); i++) {
    const j = (i + 1) % count;
    const [p, q] = [pointAt(stretches[i].to - 1), pointAt(stretches[j].from)];
    const isTangent = constraints.some((c) => c.kind === 'tangent' && c.pieces.includes(i) && c.pieces.includes(j));
    joins.push(joinOf(sides[i], sides[j], [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2], isTangent, across?.[i]));
  }
  const endAt = (join: Join | undefined, k: number, point: Vec2): Vec2 =>
    join && join.kind !== 'gap' ? join.at : nearestOn(shapes[k], join ? join.at : point);
  const isRing = closed && count === 1;
  const pieces = stretches.map(({ from, to, byHand }, k): ProfilePiece => {
    const before = isLoop ? joins[(k + count - 1) % count] : joins[k - 1];
    const start = endAt(before, k, pointAt(from));
    const end = isRing ? start : endAt(joins[k], k, pointAt(to - 1));
    const shape = shapes[k];
    const base = {
      start,
      end,
      from,
      to,
      ...residualsOf(shape, outline, from, to),
      ...(byHand !== undefined && { byHand }),
    };
    if (shape.kind === 'line')
      return { kind: 'line', shape, ...base, length: Math.hypot(end[0] - start[0], end[1] - start[1]) };
    const { counterclockwise } = sides[k];
    const sweep = isRing ? (counterclockwise ? 2 : -2) * Math.PI : sweepOf(shape, start, end, counterclockwise);
    return { kind: 'arc', shape, ...base, sweep, length: Math.abs(sweep) * shape.radius };
  });
  const whole = closed && joins.every((j) => j.kind !== 'gap') ? enclosed(pieces) : {};
  return Object.freeze({ closed, pieces, joins, noise, sigma, ...(waves && { waves }), constraints, ...whole });
}

type Arc = Extract<FlatShape, { kind: 'arc' }>;

function sweepOf({ center }: Arc, start: Vec2, end: Vec2, counterclockwise: boolean): number {
  const angle = (p: Vec2) => Math.atan2(p[1] - center[1], p[0] - center[0]);
  const turn = angle(end) - angle(start);
  const positive = ((turn % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
  return counterclockwise ? positive : positive - 2 * Math.PI;
}

function isCounterclockwise(shape: FlatShape, { flat }: Outline, from: number, to: number): boolean {
  if (shape.kind === 'line') return true;
  const n = flat.length / 2;
  let swept = 0;
  for (let i = from; i + 1 < to; i++) {
    const a = 2 * (i % n);
    const b = 2 * ((i + 1) % n);
    const [ax, ay] = [flat[a] - shape.center[0], flat[a + 1] - shape.center[1]];
    const [bx, by] = [flat[b] - shape.center[0], flat[b + 1] - shape.center[1]];
    swept += Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
  }
  return swept >= 0;
}

function residualsOf(shape: FlatShape, { flat }: Outline, from: number, to: number): { rms: number; max: number } {
  const n = flat.length / 2;
  let square = 0;
  let max = 0;
  for (let i = from; i < to; i++) {
    const off = flatDistance(shape, flat[2 * (i % n)], flat[2 * (i % n) + 1]);
    square += off * off;
    max = Math.max(max, Math.abs(off));
  }
  return { rms: Math.sqrt(square / (to - from)), max };
}
