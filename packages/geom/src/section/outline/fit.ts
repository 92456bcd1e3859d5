import { scaledCholesky } from '../../math/scaled-solve.js';
import type { Vec2 } from '../../math/vec2.js';
import { pratt } from './moments.js';
import type { Outline } from './places.js';
import { type FlatShape, freedoms, movedShape } from './shape.js';
import { walkFrom } from './sums.js';
import { beginWalk, passOn, STATE, SUMS, takeIn } from './wave.js';

/** Normal equations of a shape over points of an outline: moving it by normal⁻¹ right takes the loss to its least. */
export interface ShapeSums {
  /** Row-major, in the shape's own freedoms. */
  readonly normal: Float64Array;
  readonly right: Float64Array;
  /** Weighted sum of squared distances, mm². */
  readonly loss: number;
  /** Where points err together: logarithm of how much less surely they are expected than points of white noise alone. */
  readonly unsure: number;
}

/** The sums of a shape over points [from, to) as it lies. */
export function shapeSums(shape: FlatShape, outline: Outline, from: number, to: number): ShapeSums {
  if (outline.wave) return alikeSums(shape, outline, from, to);
  const { flat, weights } = outline;
  const n = weights.length;
  const m = freedoms(shape);
  const normal = new Float64Array(m * m);
  const right = new Float64Array(m);
  let loss = 0;
  if (shape.kind === 'line') {
    const [px, py] = shape.point;
    const [dx, dy] = shape.direction;
    for (let p = from; p < to; p++) {
      const q = p % n;
      const x = flat[2 * q] - px;
      const y = flat[2 * q + 1] - py;
      const w = weights[q];
      const along = dx * x + dy * y;
      const off = dx * y - dy * x;
      normal[0] += w;
      normal[1] += w * along;
      normal[3] += w * along * along;
      right[0] += w * off;
      right[1] += w * along * off;
      loss += w * off * off;
    }
    normal[2] = normal[1];
    return { normal, right, loss, unsure: 0 };
  }
  const [cx, cy] = shape.center;
  for (let p = from; p < to; p++) {
    const q = p % n;
    const x = flat[2 * q] - cx;
    const y = flat[2 * q + 1] - cy;
    const far = Math.hypot(x, y);
    const off = far - shape.radius;
    const w = weights[q];
    const gx = x / far;
    const gy = y / far;
    normal[0] += w * gx * gx;
    normal[1] += w * gx * gy;
    normal[2] += w * gx;
    normal[4] += w * gy * gy;
    normal[5] += w * gy;
    normal[8] += w;
    right[0] += w * gx * off;
    right[1] += w * gy * off;
    right[2] += w * off;
    loss += w * off * off;
  }
  normal[3] = normal[1];
  normal[6] = normal[2];
  normal[7] = normal[5];
  return { normal, right, loss, unsure: 0 };
}

/** The same where points err together. */
function alikeSums(shape: FlatShape, { flat, weights, wave }: Outline, from: number, to: number): ShapeSums {
  const n = weights.length;
  const state = new Float64Array(STATE);
  const sums = new Float64Array(SUMS);
  let unsure = 0;
  for (let p = from; p < to; p++) {
    const q = p % n;
    if (p === from) beginWalk(state, 0, wave!);
    else passOn(state, 0, wave!, (p - 1) % n);
    if (shape.kind === 'line') {
      const [dx, dy] = shape.direction;
      const x = flat[2 * q] - shape.point[0];
      const y = flat[2 * q + 1] - shape.point[1];
      unsure += takeIn(state, 0, sums, 0, weights[q], dx * y - dy * x, 1, dx * x + dy * y, 0);
      continue;
    }
    const x = flat[2 * q] - shape.center[0];
    const y = flat[2 * q + 1] - shape.center[1];
    const far = Math.hypot(x, y);
    unsure += takeIn(state, 0, sums, 0, weights[q], far - shape.radius, x / far, y / far, 1);
  }
  const [loss, r0, r1, r2, n00, n01, n02, n11, n12, n22] = sums;
  return shape.kind === 'line'
    ? { loss, unsure, right: Float64Array.of(r0, r1), normal: Float64Array.of(n00, n01, n01, n11) }
    : {
        loss,
        unsure,
        right: Float64Array.of(r0, r1, r2),
        normal: Float64Array.of(n00, n01, n02, n01, n11, n12, n02, n12, n22),
      };
}

/**
 * The line or circle with the least weighted sum of squared distances from points [from, to) of an outline; the line where the
 * points determine no circle. A line directly; a circle from Pratt's by Gauss-Newton. The fits of `fit/` work point clouds in
 * space and judge each by its own residuals; pieces of a profile are short, and share one noise found from all of them.
 *
 * Its covariance is for points of unit standard deviation, unrelated to each other.
 */
export function fitFlat(outline: Outline, kind: FlatShape['kind'], from: number, to: number): FlatShape {
  const model = outline.wave ?? outline.weights;
  if (!fitted.has(model)) fitted.set(model, new Map());
  const known = fitted.get(model)!;
  const key = `${kind} ${from} ${to}`;
  const shape = known.get(key) ?? fitAnew(outline, kind, from, to);
  known.set(key, shape);
  return shape;
}

/** The same stretch is looked at again and again while a profile settles. */
const fitted = new WeakMap<object, Map<string, FlatShape>>();

function fitAnew(outline: Outline, kind: FlatShape['kind'], from: number, to: number): FlatShape {
  const { flat, weights } = outline;
  const first = from % weights.length;
  const origin: Vec2 = [flat[2 * first], flat[2 * first + 1]];
  const walk = walkFrom(outline, from, 1);
  for (let p = from; p < to; p++) walk.add();
  const m = walk.moments;
  const arc = kind === 'arc' ? arcOf(outline, m, origin, from, to) : undefined;
  return arc ?? lineOf(outline, m, origin, from, to);
}

function lineOf({ flat }: Outline, m: Float64Array, origin: Vec2, from: number, to: number): FlatShape {
  const n = flat.length / 2;
  const [a, b] = [m[1] / m[0], m[2] / m[0]];
  const xx = m[4] - m[0] * a * a;
  const xy = m[5] - m[0] * a * b;
  const yy = m[7] - m[0] * b * b;
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  let direction: Vec2 = [Math.cos(angle), Math.sin(angle)];
  const [s, e] = [2 * (from % n), 2 * ((to - 1) % n)];
  if (direction[0] * (flat[e] - flat[s]) + direction[1] * (flat[e + 1] - flat[s + 1]) < 0)
    direction = [-direction[0], -direction[1]];
  const along = (xx + yy + Math.hypot(xx - yy, 2 * xy)) / 2;
  const point: Vec2 = [origin[0] + a, origin[1] + b];
  return { kind: 'line', point, direction, covariance: Float64Array.of(1 / m[0], 0, 0, 1 / along) };
}

function arcOf(outline: Outline, m: Float64Array, origin: Vec2, from: number, to: number): FlatShape | undefined {
  const start = pratt(m, 0);
  if (!start) return undefined;
  const { x, y, radius } = start;
  let arc: FlatShape = {
    kind: 'arc',
    center: [x + origin[0], y + origin[1]],
    radius,
    covariance: new Float64Array(9),
  };
  let last = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < 50; pass++) {
    const { normal, right } = shapeSums(arc, outline, from, to);
    const parts = scaledCholesky(normal, 3);
    if (!parts) return undefined;
    const step = parts.solve(right);
    const size = Math.hypot(step[0], step[1], step[2]);
    if (size < 1e-12 * arc.radius || (pass > 5 && size >= last)) return { ...arc, covariance: parts.inverse() };
    last = size;
    arc = movedShape(arc, step) as typeof arc;
    if (!(arc.radius > 0 && Number.isFinite(arc.radius))) return undefined;
  }
  return undefined;
}
