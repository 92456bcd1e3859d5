import type { Vec3 } from '../math/vec3.js';

const scratch = new Float64Array(3);

/** Writes into `out` the normal of the triangle of three points, right-handed about them and twice its area long, mm². */
export function writeNormal(positions: Float64Array, p: number, q: number, r: number, out: Float64Array): void {
  const a = 3 * p;
  const b = 3 * q;
  const c = 3 * r;
  const ux = positions[b] - positions[a];
  const uy = positions[b + 1] - positions[a + 1];
  const uz = positions[b + 2] - positions[a + 2];
  const vx = positions[c] - positions[a];
  const vy = positions[c + 1] - positions[a + 1];
  const vz = positions[c + 2] - positions[a + 2];
  out[0] = uy * vz - uz * vy;
  out[1] = uz * vx - ux * vz;
  out[2] = ux * vy - uy * vx;
}

/** The normal of triangle `t`, right-handed about its corners: not of unit length, but twice its area long, mm². */
export function triangleNormal(positions: Float64Array, triangles: Uint32Array, t: number): Vec3 {
  writeNormal(positions, triangles[3 * t], triangles[3 * t + 1], triangles[3 * t + 2], scratch);
  return [scratch[0], scratch[1], scratch[2]];
}

/** Area of triangle `t`, mm². */
export function triangleArea(positions: Float64Array, triangles: Uint32Array, t: number): number {
  writeNormal(positions, triangles[3 * t], triangles[3 * t + 1], triangles[3 * t + 2], scratch);
  return Math.sqrt(scratch[0] ** 2 + scratch[1] ** 2 + scratch[2] ** 2) / 2;
}
