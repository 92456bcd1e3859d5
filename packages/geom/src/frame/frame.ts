import type { Vec3 } from '../math/vec3.js';

/** A right-handed datum frame (ISO 5459) set on a scan. */
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
