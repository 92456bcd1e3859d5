import { pointTriangles } from '../scan/adjacency.js';
import type { Scan } from '../scan/scan.js';
import { pointNormalsOf } from './facing.js';

/**
 * Area of a region of a mesh, mm²: of the triangles that have all corners in it.
 *
 * @param select point indices, each once
 * @returns undefined for a cloud, which has no surface
 */
export function regionArea(scan: Scan, select: Uint32Array): number | undefined {
  const { positions, triangles } = scan;
  if (triangles === undefined) return undefined;
  const about = pointTriangles(scan);
  const isIn = new Uint8Array(positions.length / 3);
  for (const p of select) isIn[p] = 1;
  let twice = 0;
  for (const p of select)
    for (let k = about.offsets[p]; k < about.offsets[p + 1]; k++) {
      const t = 3 * about.triangles[k];
      const [a, b, c] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      // Each triangle is counted at its first corner.
      if (a === p && isIn[b] && isIn[c]) twice += doubleArea(positions, 3 * a, 3 * b, 3 * c);
    }
  return twice / 2;
}

function doubleArea(at: Float64Array, a: number, b: number, c: number): number {
  const ux = at[b] - at[a];
  const uy = at[b + 1] - at[a + 1];
  const uz = at[b + 2] - at[a + 2];
  const vx = at[c] - at[a];
  const vy = at[c + 1] - at[a + 1];
  const vz = at[c + 2] - at[a + 2];
  return Math.sqrt((uy * vz - uz * vy) ** 2 + (uz * vx - ux * vz) ** 2 + (ux * vy - uy * vx) ** 2);
}

/**
 * How far a region turns: the largest angle of its points' normals from their mean, radians. Points without a normal do not count.
 *
 * @returns 0 where there are no normals, as of most clouds; π where they cancel out, as all around a ball
 */
export function regionSpread(scan: Scan, select: Uint32Array): number {
  const normals = pointNormalsOf(scan);
  if (normals === undefined) return 0;
  let [x, y, z] = [0, 0, 0];
  let count = 0;
  for (const p of select) {
    const [a, b, c] = [normals[3 * p], normals[3 * p + 1], normals[3 * p + 2]];
    if (a !== 0 || b !== 0 || c !== 0) count++;
    x += a;
    y += b;
    z += c;
  }
  if (count === 0) return 0;
  const length = Math.hypot(x, y, z);
  // The mean of normals in single precision is known to about this.
  if (length <= 1e-6 * count) return Math.PI;
  let least = 1;
  for (const p of select) {
    const [a, b, c] = [normals[3 * p], normals[3 * p + 1], normals[3 * p + 2]];
    if (a === 0 && b === 0 && c === 0) continue;
    least = Math.min(least, (a * x + b * y + c * z) / (length * Math.hypot(a, b, c)));
  }
  return Math.acos(Math.max(-1, least));
}
