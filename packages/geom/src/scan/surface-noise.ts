import { scaledCholesky } from '../math/scaled-solve.js';
import { perpendiculars } from '../math/vec3.js';
import { LocalPlane } from './local-plane.js';

/**
 * How far single points of a small patch lie off a smooth surface, standard deviation in mm: what a quadric through them leaves
 * (height over the patch's plane, six parameters), so that curvature does not count as noise. 0 for fewer than twelve points.
 * Noise that neighbors share is not seen.
 */
export function surfaceNoise(positions: Float64Array, points: ArrayLike<number>): number {
  const count = points.length;
  if (count < 12) return 0;
  const plane = new LocalPlane();
  const first = 3 * points[0];
  plane.start(positions[first], positions[first + 1], positions[first + 2]);
  for (let i = 0; i < count; i++) {
    const p = 3 * points[i];
    plane.add(positions[p], positions[p + 1], positions[p + 2]);
  }
  if (!plane.solve()) return 0;
  const w = [plane.nx, plane.ny, plane.nz] as const;
  const [u, v] = perpendiculars(w);
  const normal = new Float64Array(36);
  const right = new Float64Array(6);
  let heights = 0;
  for (let i = 0; i < count; i++) {
    const p = 3 * points[i];
    const d = [positions[p] - plane.cx, positions[p + 1] - plane.cy, positions[p + 2] - plane.cz];
    const x = d[0] * u[0] + d[1] * u[1] + d[2] * u[2];
    const y = d[0] * v[0] + d[1] * v[1] + d[2] * v[2];
    const h = d[0] * w[0] + d[1] * w[1] + d[2] * w[2];
    const terms = [1, x, y, x * x, x * y, y * y];
    heights += h * h;
    for (let j = 0; j < 6; j++) {
      right[j] += terms[j] * h;
      for (let k = 0; k < 6; k++) normal[6 * j + k] += terms[j] * terms[k];
    }
  }
  const solution = scaledCholesky(normal, 6)?.solve(right);
  if (!solution) return 0;
  let left = heights;
  for (let j = 0; j < 6; j++) left -= solution[j] * right[j];
  return Math.sqrt(Math.max(left, 0) / (count - 6));
}
