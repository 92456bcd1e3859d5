import { cross, type Vec3 } from '../math/vec3.js';

/** The normal of triangle `t`, right-handed about its corners: not of unit length, but twice its area long, mm². */
export function triangleNormal(positions: Float64Array, triangles: Uint32Array, t: number): Vec3 {
  const edge = (from: number, to: number): Vec3 => [
    positions[3 * to] - positions[3 * from],
    positions[3 * to + 1] - positions[3 * from + 1],
    positions[3 * to + 2] - positions[3 * from + 2],
  ];
  const a = triangles[3 * t];
  return cross(edge(a, triangles[3 * t + 1]), edge(a, triangles[3 * t + 2]));
}
