import { cross, dot, subtract, type Vec3 } from './vec3.js';

/** A right-handed frame set on a scan. */
export interface Frame {
  readonly kind: 'frame';
  /** Of the frame, in scan axes. */
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  readonly z: Vec3;
  /** Scan to frame, column-major 4×4. */
  readonly matrix: Float64Array;
  toFrame(p: Vec3): Vec3;
  toScan(p: Vec3): Vec3;
}

/** The frame with an origin and its x and y axes, which are unit length and square to each other; z = x × y. */
export function frameOf(origin: Vec3, x: Vec3, y: Vec3): Frame {
  const z = cross(x, y);
  const back = (axis: Vec3): number => 0 - dot(axis, origin);
  return Object.freeze({
    kind: 'frame',
    origin,
    x,
    y,
    z,
    // biome-ignore format: one column of the matrix a line
    matrix: Float64Array.of(
      x[0], y[0], z[0], 0,
      x[1], y[1], z[1], 0,
      x[2], y[2], z[2], 0,
      back(x), back(y), back(z), 1,
    ),
    toFrame: (p: Vec3): Vec3 => {
      const d = subtract(p, origin);
      return [dot(x, d), dot(y, d), dot(z, d)];
    },
    toScan: ([a, b, c]: Vec3): Vec3 => [
      origin[0] + a * x[0] + b * y[0] + c * z[0],
      origin[1] + a * x[1] + b * y[1] + c * z[1],
      origin[2] + a * x[2] + b * y[2] + c * z[2],
    ],
  });
}

/** The scan's own axes as a frame. */
export const scanFrame: Frame = frameOf([0, 0, 0], [1, 0, 0], [0, 1, 0]);
