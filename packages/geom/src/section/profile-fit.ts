import { scaledCholesky } from '../math/scaled-solve.js';
import type { Vec2 } from '../math/vec2.js';
import { addPoint, MOMENTS, pratt } from './profile-moments.js';
import type { FlatShape } from './profile-shape.js';
import type { Outline } from './profile-split.js';

/** A shape fitted to a stretch of an outline; its covariance is for points of unit standard deviation, unrelated to each other. */
export interface FlatFit {
  readonly shape: FlatShape;
  /** Signed distances of its points in order, mm. */
  readonly residuals: Float64Array;
}

/**
 * The line or circle with the least weighted sum of squared distances from points [from, to) of an outline. A line directly; a
 * circle from Pratt's by Gauss-Newton. The fits of `fit/` work point clouds in space and judge each by its own residuals;
 * pieces of a profile are short, and share one noise found from all of them.
 *
 * Undefined where the points do not determine the circle.
 */
export function fitFlat(outline: Outline, shape: FlatShape['kind'], from: number, to: number): FlatFit | undefined {
  const { flat, weights } = outline;
  const n = flat.length / 2;
  const m = new Float64Array(MOMENTS);
  const first = from % n;
  const origin: Vec2 = [flat[2 * first], flat[2 * first + 1]];
  for (let p = from; p < to; p++) {
    const q = p % n;
    addPoint(m, 0, flat[2 * q] - origin[0], flat[2 * q + 1] - origin[1], weights[q]);
  }
  return shape === 'line' ? lineOf(outline, m, origin, from, to) : arcOf(outline, m, origin, from, to);
}

function lineOf({ flat }: Outline, m: Float64Array, origin: Vec2, from: number, to: number): FlatFit {
  const n = flat.length / 2;
  const [a, b] = [m[1] / m[0], m[2] / m[0]];
  const xx = m[3] - m[0] * a * a;
  const xy = m[4] - m[0] * a * b;
  const yy = m[5] - m[0] * b * b;
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  let direction: Vec2 = [Math.cos(angle), Math.sin(angle)];
  const [s, e] = [2 * (from % n), 2 * ((to - 1) % n)];
  if (direction[0] * (flat[e] - flat[s]) + direction[1] * (flat[e + 1] - flat[s + 1]) < 0)
    direction = [-direction[0], -direction[1]];
  const point: Vec2 = [origin[0] + a, origin[1] + b];
  const along = (xx + yy + Math.hypot(xx - yy, 2 * xy)) / 2;
  const residuals = new Float64Array(to - from);
  for (let p = from; p < to; p++) {
    const q = 2 * (p % n);
    residuals[p - from] = direction[0] * (flat[q + 1] - point[1]) - direction[1] * (flat[q] - point[0]);
  }
  return {
    shape: { kind: 'line', point, direction, covariance: Float64Array.of(1 / m[0], 0, 0, 1 / along) },
    residuals,
  };
}

function arcOf(
  { flat, weights }: Outline,
  m: Float64Array,
  origin: Vec2,
  from: number,
  to: number,
): FlatFit | undefined {
  const n = flat.length / 2;
  const start = pratt(m, 0);
  if (!start) return undefined;
  let [cx, cy, radius] = [start.x + origin[0], start.y + origin[1], start.radius];
  const normal = new Float64Array(9);
  const right = new Float64Array(3);
  const residuals = new Float64Array(to - from);
  let last = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < 50; pass++) {
    normal.fill(0);
    right.fill(0);
    for (let p = from; p < to; p++) {
      const q = p % n;
      const dx = flat[2 * q] - cx;
      const dy = flat[2 * q + 1] - cy;
      const far = Math.hypot(dx, dy);
      const off = far - radius;
      residuals[p - from] = off;
      const w = weights[q];
      const [gx, gy] = [dx / far, dy / far];
      normal[0] += w * gx * gx;
      normal[1] += w * gx * gy;
      normal[2] += w * gx;
      normal[4] += w * gy * gy;
      normal[5] += w * gy;
      normal[8] += w;
      right[0] += w * gx * off;
      right[1] += w * gy * off;
      right[2] += w * off;
    }
    normal[3] = normal[1];
    normal[6] = normal[2];
    normal[7] = normal[5];
    const parts = scaledCholesky(normal, 3);
    if (!parts) return undefined;
    const step = parts.solve(right);
    const size = Math.hypot(step[0], step[1], step[2]);
    if (size < 1e-12 * radius || (pass > 5 && size >= last))
      return { shape: { kind: 'arc', center: [cx, cy], radius, covariance: parts.inverse() }, residuals };
    last = size;
    cx += step[0];
    cy += step[1];
    radius += step[2];
    if (!(radius > 0 && Number.isFinite(radius))) return undefined;
  }
  return undefined;
}
