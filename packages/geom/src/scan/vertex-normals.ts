import type { Mesh } from './scan.js';

/**
 * A unit normal for each point of a mesh (xyz xyz …): the mean of the normals of its triangles, weighed by their angles at the point
 * (Thürmer & Wüthrich, J. Graphics Tools 3 (1998): it does not depend on how a face is cut into triangles) or by their areas.
 * Zero for points without triangles, or whose triangles cancel.
 */
export function vertexNormals(mesh: Mesh, weight: 'angle' | 'area' = 'angle'): Float32Array {
  const { positions, triangles } = mesh;
  const sums = new Float64Array(positions.length);
  for (let t = 0; t < triangles.length; t += 3) {
    const a = 3 * triangles[t];
    const b = 3 * triangles[t + 1];
    const c = 3 * triangles[t + 2];
    const ux = positions[b] - positions[a];
    const uy = positions[b + 1] - positions[a + 1];
    const uz = positions[b + 2] - positions[a + 2];
    const vx = positions[c] - positions[a];
    const vy = positions[c + 1] - positions[a + 1];
    const vz = positions[c + 2] - positions[a + 2];
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const twice = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (twice === 0) continue;
    let atA = 1;
    let atB = 1;
    let atC = 1;
    if (weight === 'angle') {
      // The angle between two edges, from their dot product and twice the area.
      const uv = ux * vx + uy * vy + uz * vz;
      const uu = ux * ux + uy * uy + uz * uz;
      atA = Math.atan2(twice, uv) / twice;
      atB = Math.atan2(twice, uu - uv) / twice;
      atC = Math.PI / twice - atA - atB;
    }
    sums[a] += atA * nx;
    sums[a + 1] += atA * ny;
    sums[a + 2] += atA * nz;
    sums[b] += atB * nx;
    sums[b + 1] += atB * ny;
    sums[b + 2] += atB * nz;
    sums[c] += atC * nx;
    sums[c + 1] += atC * ny;
    sums[c + 2] += atC * nz;
  }
  const normals = new Float32Array(positions.length);
  for (let i = 0; i < sums.length; i += 3) {
    const length = Math.sqrt(sums[i] * sums[i] + sums[i + 1] * sums[i + 1] + sums[i + 2] * sums[i + 2]);
    if (length === 0) continue;
    normals[i] = sums[i] / length;
    normals[i + 1] = sums[i + 1] / length;
    normals[i + 2] = sums[i + 2] / length;
  }
  return normals;
}
