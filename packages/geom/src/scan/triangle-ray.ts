import type { Vec3 } from '../math/vec3.js';

/** A ray made ready for many triangles. */
export interface PreparedRay {
  readonly from: Vec3;
  readonly direction: Vec3;
  /** Axes in the order that makes z the one the direction follows most. */
  readonly kx: number;
  readonly ky: number;
  readonly kz: number;
  readonly sx: number;
  readonly sy: number;
}

export function prepareRay(from: Vec3, direction: Vec3): PreparedRay {
  const size = direction.map(Math.abs);
  const kz = size[0] >= size[1] && size[0] >= size[2] ? 0 : size[1] >= size[2] ? 1 : 2;
  const kx = (kz + 1) % 3;
  const ky = (kz + 2) % 3;
  return { from, direction, kx, ky, kz, sx: direction[kx] / direction[kz], sy: direction[ky] / direction[kz] };
}

/**
 * How far along a ray (unit direction) it meets a triangle from either side; Infinity if it misses. Watertight: a ray through
 * a shared edge meets one of its triangles at least (Woop, Benthin & Wald, JCGT 2 (2013)).
 */
export function alongToTriangle(ray: PreparedRay, positions: Float64Array, a: number, b: number, c: number): number {
  const { from, kx, ky, kz, sx, sy } = ray;
  const az = positions[3 * a + kz] - from[kz];
  const bz = positions[3 * b + kz] - from[kz];
  const cz = positions[3 * c + kz] - from[kz];
  const ax = positions[3 * a + kx] - from[kx] - sx * az;
  const ay = positions[3 * a + ky] - from[ky] - sy * az;
  const bx = positions[3 * b + kx] - from[kx] - sx * bz;
  const by = positions[3 * b + ky] - from[ky] - sy * bz;
  const cx = positions[3 * c + kx] - from[kx] - sx * cz;
  const cy = positions[3 * c + ky] - from[ky] - sy * cz;
  const u = cx * by - cy * bx;
  const v = ax * cy - ay * cx;
  const w = bx * ay - by * ax;
  if ((u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0)) return Infinity;
  const sum = u + v + w;
  if (sum === 0) return Infinity;
  const along = (u * az + v * bz + w * cz) / (sum * ray.direction[kz]);
  return along >= 0 ? along : Infinity;
}
