import type { Bounds } from './scan.js';

/**
 * Whether a triangle touches a box along the axes: the separating axis test over the box's faces, the triangle's plane and the
 * nine products of edges (Akenine-Möller, J. Graphics Tools 6 (2001)).
 */
export function triangleTouchesBox(positions: Float64Array, a: number, b: number, c: number, box: Bounds): boolean {
  const { min, max } = box;
  const half = [0, 1, 2].map((k) => (max[k] - min[k]) / 2);
  const corners = [a, b, c].map((p) => [0, 1, 2].map((k) => positions[3 * p + k] - (min[k] + max[k]) / 2));
  const apart = (x: number, y: number, z: number): boolean => {
    const along = corners.map((p) => x * p[0] + y * p[1] + z * p[2]);
    const reach = half[0] * Math.abs(x) + half[1] * Math.abs(y) + half[2] * Math.abs(z);
    return Math.min(...along) > reach || Math.max(...along) < -reach;
  };
  if (apart(1, 0, 0) || apart(0, 1, 0) || apart(0, 0, 1)) return false;
  const [u, v, w] = [0, 1, 2].map((i) => [0, 1, 2].map((k) => corners[(i + 1) % 3][k] - corners[i][k]));
  if (apart(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])) return false;
  return ![u, v, w].some(([x, y, z]) => apart(0, -z, y) || apart(z, 0, -x) || apart(-y, x, 0));
}
