import type { Frame, Vec2, Vec3 } from '@fettle/geom';
import { type View, type ViewName, viewAxes } from '../picture/view.js';

/** Looking along an axis: flat coordinates of the drawing, and depth. */
export interface Sight {
  readonly back: Vec3;
  flat(p: Vec3): Vec2;
  flatDirection(v: Vec3): Vec2;
}

/** The sight from a side of a frame, its origin at 0 in the drawing. */
export function sightOf(frame: Frame, view: View | ViewName): Sight {
  const axes = viewAxes(view);
  const inScan = (v: Vec3): Vec3 =>
    [0, 1, 2].map((k) => v[0] * frame.x[k]! + v[1] * frame.y[k]! + v[2] * frame.z[k]!) as unknown as Vec3;
  const [right, up, back] = [inScan(axes.right), inScan(axes.up), inScan(axes.back)];
  const flatDirection = (v: Vec3): Vec2 => [dot(v, right), dot(v, up)];
  const { origin } = frame;
  return {
    back,
    flatDirection,
    flat: (p) => flatDirection([p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]]),
  };
}

export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const moved = (p: Vec3, along: Vec3, by: number): Vec3 => [
  p[0] + by * along[0],
  p[1] + by * along[1],
  p[2] + by * along[2],
];
