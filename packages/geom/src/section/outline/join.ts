import type { Vec2 } from '../../math/vec2.js';
import { directionAt, type FlatShape, flatDistance, freedoms, movedShape, nearestOn } from './shape.js';

/** Where two neighboring pieces of a profile meet. */
export interface Join {
  /** `corner`: the shapes cross here. `tangent`: they run into each other. `gap`: they do not meet; `at` lies between their ends. */
  readonly kind: 'corner' | 'tangent' | 'gap';
  readonly at: Vec2;
  /** Change of direction on passing, radians: counterclockwise positive, 0 at a tangency. */
  readonly turn: number;
  /** Standard uncertainty of `at` in its worst direction, mm; of a gap, how far the pieces' ends are apart. */
  readonly positionUncertainty: number;
  /** Covariance of `at` in the section's axes, mm²: xx, xy, yy; absent for a gap. */
  readonly positionCovariance?: readonly [xx: number, xy: number, yy: number];
  /** Standard uncertainty of `turn`, radians. */
  readonly turnUncertainty: number;
}

/** A piece as its joins see it. */
export interface Side {
  readonly shape: FlatShape;
  /** Of an arc: sense of travel. */
  readonly counterclockwise: boolean;
  /** Of its points, mm. */
  readonly length: number;
}

/**
 * Where two pieces meet: the crossing of their shapes nearest to the break between their points (a scanned corner is always
 * rounded; the true one is where the faces meet), or where they touch if they are held tangent. Crossings farther from the
 * break than half the shorter piece are no corner of this outline: a gap.
 */
export function joinOf(a: Side, b: Side, near: Vec2, isTangent: boolean, across?: Float64Array): Join {
  const at = meeting(a.shape, b.shape, near, isTangent);
  if (!at || Math.hypot(at[0] - near[0], at[1] - near[1]) > Math.min(a.length, b.length) / 2) {
    const [p, q] = [nearestOn(a.shape, near), nearestOn(b.shape, near)];
    return {
      kind: 'gap',
      at: [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2],
      turn: turnAt(a, b, near),
      positionUncertainty: Math.hypot(p[0] - q[0], p[1] - q[1]),
      turnUncertainty: turnUncertainty(a, b, near, across),
    };
  }
  const positionCovariance = covarianceAt(a.shape, b.shape, at, isTangent, across);
  const place = { at, positionUncertainty: worstOf(positionCovariance), positionCovariance };
  if (isTangent) return { kind: 'tangent', ...place, turn: 0, turnUncertainty: 0 };
  return { kind: 'corner', ...place, turn: turnAt(a, b, at), turnUncertainty: turnUncertainty(a, b, at, across) };
}

function turnAt(a: Side, b: Side, at: Vec2): number {
  const p = directionAt(a.shape, nearestOn(a.shape, at), a.counterclockwise);
  const q = directionAt(b.shape, nearestOn(b.shape, at), b.counterclockwise);
  return Math.atan2(p[0] * q[1] - p[1] * q[0], p[0] * q[0] + p[1] * q[1]);
}

function meeting(a: FlatShape, b: FlatShape, near: Vec2, isTangent: boolean): Vec2 | undefined {
  const found = isTangent ? touching(a, b) : crossings(a, b);
  let best: Vec2 | undefined;
  for (const p of found)
    if (!best || Math.hypot(p[0] - near[0], p[1] - near[1]) < Math.hypot(best[0] - near[0], best[1] - near[1]))
      best = p;
  return best;
}

function touching(a: FlatShape, b: FlatShape): Vec2[] {
  if (a.kind === 'line') return b.kind === 'line' ? [] : [nearestOn(a, b.center)];
  if (b.kind === 'line') return touching(b, a);
  const dx = b.center[0] - a.center[0];
  const dy = b.center[1] - a.center[1];
  const s = a.radius / Math.hypot(dx, dy);
  return [
    [a.center[0] + s * dx, a.center[1] + s * dy],
    [a.center[0] - s * dx, a.center[1] - s * dy],
  ];
}

function crossings(a: FlatShape, b: FlatShape): Vec2[] {
  if (a.kind === 'line' && b.kind === 'line') {
    const sine = a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0];
    if (Math.abs(sine) < 1e-9) return [];
    const along = flatDistance(b, a.point[0], a.point[1]) / sine;
    return [[a.point[0] + along * a.direction[0], a.point[1] + along * a.direction[1]]];
  }
  if (a.kind === 'arc' && b.kind === 'line') return crossings(b, a);
  if (a.kind === 'line' && b.kind === 'arc') {
    const foot = nearestOn(a, b.center);
    const half = b.radius ** 2 - (foot[0] - b.center[0]) ** 2 - (foot[1] - b.center[1]) ** 2;
    if (half < 0) return [];
    const s = Math.sqrt(half);
    return [
      [foot[0] + s * a.direction[0], foot[1] + s * a.direction[1]],
      [foot[0] - s * a.direction[0], foot[1] - s * a.direction[1]],
    ];
  }
  if (a.kind !== 'arc' || b.kind !== 'arc') return [];
  const dx = b.center[0] - a.center[0];
  const dy = b.center[1] - a.center[1];
  const apart = Math.hypot(dx, dy);
  if (apart === 0) return [];
  const along = (apart * apart + a.radius ** 2 - b.radius ** 2) / (2 * apart);
  const half = a.radius ** 2 - along ** 2;
  if (half < 0) return [];
  const s = Math.sqrt(half);
  const [ux, uy] = [dx / apart, dy / apart];
  return [
    [a.center[0] + along * ux - s * uy, a.center[1] + along * uy + s * ux],
    [a.center[0] + along * ux + s * uy, a.center[1] + along * uy - s * ux],
  ];
}

/** Standard deviation in the worst direction. */
const worstOf = ([xx, xy, yy]: readonly [number, number, number]): number =>
  Math.sqrt(Math.max(0, (xx + yy + Math.hypot(xx - yy, 2 * xy)) / 2));

/** Covariance of the meeting point, to first order: xx, xy, yy. */
function covarianceAt(
  a: FlatShape,
  b: FlatShape,
  at: Vec2,
  isTangent: boolean,
  across?: Float64Array,
): [number, number, number] {
  const gradients: Vec2[][] = [];
  const c: [number, number, number] = [0, 0, 0];
  for (const [shape, other, isFirst] of [
    [a, b, true],
    [b, a, false],
  ] as const) {
    const m = freedoms(shape);
    const gradient: Vec2[] = [];
    for (let p = 0; p < m; p++) {
      const step = Math.max(1e-6, 0.1 * Math.sqrt(shape.covariance[p * m + p]));
      const delta = new Float64Array(m);
      const moved = (s: number): Vec2 => {
        delta[p] = s;
        const shifted = movedShape(shape, delta);
        return (isFirst ? meeting(shifted, other, at, isTangent) : meeting(other, shifted, at, isTangent)) ?? at;
      };
      const [x1, y1] = moved(step);
      const [x0, y0] = moved(-step);
      gradient.push([(x1 - x0) / (2 * step), (y1 - y0) / (2 * step)]);
    }
    gradients.push(gradient);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) {
        const k = shape.covariance[i * m + j];
        c[0] += gradient[i][0] * k * gradient[j][0];
        c[1] += gradient[i][0] * k * gradient[j][1];
        c[2] += gradient[i][1] * k * gradient[j][1];
      }
  }
  const [first, second] = gradients;
  if (across)
    for (const [i, p] of first.entries())
      for (const [j, q] of second.entries()) {
        const k = across[i * second.length + j];
        c[0] += 2 * p[0] * k * q[0];
        c[1] += k * (p[0] * q[1] + p[1] * q[0]);
        c[2] += 2 * p[1] * k * q[1];
      }
  return c;
}

function turnUncertainty(a: Side, b: Side, at: Vec2, across?: Float64Array): number {
  let variance = 0;
  const gradients: number[][] = [];
  for (const isFirst of [true, false]) {
    const own = isFirst ? a : b;
    const m = freedoms(own.shape);
    const gradient = Array.from({ length: m }, (_, p) => {
      const step = Math.max(1e-6, 0.1 * Math.sqrt(own.shape.covariance[p * m + p]));
      const delta = new Float64Array(m);
      const turn = (s: number) => {
        delta[p] = s;
        const side = { ...own, shape: movedShape(own.shape, delta) };
        return isFirst ? turnAt(side, b, at) : turnAt(a, side, at);
      };
      return (turn(step) - turn(-step)) / (2 * step);
    });
    gradients.push(gradient);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) variance += gradient[i] * own.shape.covariance[i * m + j] * gradient[j];
  }
  const [first, second] = gradients;
  if (across)
    for (const [i, p] of first.entries())
      for (const [j, q] of second.entries()) variance += 2 * p * across[i * second.length + j] * q;
  return Math.sqrt(Math.max(0, variance));
}
