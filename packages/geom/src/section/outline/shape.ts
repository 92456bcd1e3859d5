import type { Vec2 } from '../../math/vec2.js';

/**
 * A line or circle in the section, with the covariance of its numbers. Of a line: shift along its left normal, and turn about
 * `point` (counterclockwise). Of a circle: shift along x, along y, and radius. mm and radians, row-major.
 */
export type FlatShape =
  | { readonly kind: 'line'; readonly point: Vec2; readonly direction: Vec2; readonly covariance: Float64Array }
  | { readonly kind: 'arc'; readonly center: Vec2; readonly radius: number; readonly covariance: Float64Array };

/** Number of parameters of a shape. */
export const freedoms = (shape: FlatShape): number => (shape.kind === 'line' ? 2 : 3);

/** The shape with its parameters moved by `delta`. */
export function movedShape(shape: FlatShape, delta: ArrayLike<number>, at = 0): FlatShape {
  if (shape.kind === 'arc')
    return {
      ...shape,
      center: [shape.center[0] + delta[at], shape.center[1] + delta[at + 1]],
      radius: shape.radius + delta[at + 2],
    };
  const [dx, dy] = shape.direction;
  const cos = Math.cos(delta[at + 1]);
  const sin = Math.sin(delta[at + 1]);
  return {
    ...shape,
    point: [shape.point[0] - dy * delta[at], shape.point[1] + dx * delta[at]],
    direction: [dx * cos - dy * sin, dy * cos + dx * sin],
  };
}

/** Signed distance: of a line, on its left; of a circle, outside. */
export function flatDistance(shape: FlatShape, x: number, y: number): number {
  if (shape.kind === 'arc') return Math.hypot(x - shape.center[0], y - shape.center[1]) - shape.radius;
  const [dx, dy] = shape.direction;
  return dx * (y - shape.point[1]) - dy * (x - shape.point[0]);
}

/** The point of the shape nearest to a point. */
export function nearestOn(shape: FlatShape, [x, y]: Vec2): Vec2 {
  const off = flatDistance(shape, x, y);
  if (shape.kind === 'line') return [x + off * shape.direction[1], y - off * shape.direction[0]];
  const far = off + shape.radius;
  if (far === 0) return [shape.center[0] + shape.radius, shape.center[1]];
  const s = shape.radius / far;
  return [shape.center[0] + s * (x - shape.center[0]), shape.center[1] + s * (y - shape.center[1])];
}

/** Direction of travel at a point of the shape; of an arc, counterclockwise or not. */
export function directionAt(shape: FlatShape, [x, y]: Vec2, counterclockwise: boolean): Vec2 {
  if (shape.kind === 'line') return shape.direction;
  const s = (counterclockwise ? 1 : -1) / shape.radius;
  return [-s * (y - shape.center[1]), s * (x - shape.center[0])];
}
