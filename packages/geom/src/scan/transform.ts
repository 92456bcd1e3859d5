import { FettleError } from '../error.js';
import type { Frame } from '../math/frame.js';
import type { Scan } from './scan.js';

/**
 * The scan moved by an affine map: a frame (scan axes to frame axes) or a column-major 4×4 matrix. Positions and normals are
 * new, all else is shared with the scan given; a matrix that mirrors also turns the triangles over, so that their outside
 * stays outside.
 *
 * @throws FettleError `transform-matrix` for a matrix that is not 16 finite numbers, not affine, or singular.
 */
export function transformScan(scan: Scan, by: ArrayLike<number> | Frame): Scan {
  const m = 'matrix' in by ? by.matrix : by;
  const sign = Math.sign(checkedDeterminant(m));
  const [m0, m1, m2, , m4, m5, m6, , m8, m9, m10, , m12, m13, m14] = Array.from(m);
  const from = scan.positions;
  const positions = new Float64Array(from.length);
  for (let i = 0; i < from.length; i += 3) {
    const x = from[i];
    const y = from[i + 1];
    const z = from[i + 2];
    positions[i] = m0 * x + m4 * y + m8 * z + m12;
    positions[i + 1] = m1 * x + m5 * y + m9 * z + m13;
    positions[i + 2] = m2 * x + m6 * y + m10 * z + m14;
  }
  return Object.freeze({
    ...scan,
    positions,
    ...(scan.normals && { normals: turnNormals(scan.normals, m, sign) }),
    ...(scan.triangles && sign < 0 && { triangles: turnOver(scan.triangles) }),
  });
}

function checkedDeterminant(m: ArrayLike<number>): number {
  const refuse = (why: string): never => {
    throw new FettleError('transform-matrix', `The matrix to move the scan by ${why}. Give a column-major 4×4 matrix.`);
  };
  if (m.length !== 16) refuse(`has ${m.length} numbers, not 16`);
  let size = 0;
  for (let i = 0; i < 16; i++) {
    if (!Number.isFinite(m[i])) refuse(`holds ${m[i]} at place ${i}`);
    if (i % 4 < 3 && i < 12) size = Math.max(size, Math.abs(m[i]));
  }
  if (m[3] !== 0 || m[7] !== 0 || m[11] !== 0 || m[15] !== 1)
    refuse(`has the last row ${m[3]}, ${m[7]}, ${m[11]}, ${m[15]}, not 0, 0, 0, 1`);
  const determinant =
    m[0] * (m[5] * m[10] - m[6] * m[9]) - m[4] * (m[1] * m[10] - m[2] * m[9]) + m[8] * (m[1] * m[6] - m[2] * m[5]);
  if (!(Math.abs(determinant) > 1e-12 * size ** 3)) refuse('flattens space (its determinant is 0)');
  return determinant;
}

/** Normals go with the cofactors of the map (its inverse transposed, to a factor), which for a rotation is the map itself. */
function turnNormals(from: Float32Array, m: ArrayLike<number>, sign: number): Float32Array {
  const [a, b, c] = [m[0], m[1], m[2]];
  const [d, e, f] = [m[4], m[5], m[6]];
  const [g, h, i] = [m[8], m[9], m[10]];
  const xx = sign * (e * i - f * h);
  const xy = sign * (f * g - d * i);
  const xz = sign * (d * h - e * g);
  const yx = sign * (h * c - i * b);
  const yy = sign * (i * a - g * c);
  const yz = sign * (g * b - h * a);
  const zx = sign * (b * f - c * e);
  const zy = sign * (c * d - a * f);
  const zz = sign * (a * e - b * d);
  const normals = new Float32Array(from.length);
  for (let j = 0; j < from.length; j += 3) {
    const x = from[j];
    const y = from[j + 1];
    const z = from[j + 2];
    const nx = xx * x + yx * y + zx * z;
    const ny = xy * x + yy * y + zy * z;
    const nz = xz * x + yz * y + zz * z;
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (length === 0) continue;
    normals[j] = nx / length;
    normals[j + 1] = ny / length;
    normals[j + 2] = nz / length;
  }
  return normals;
}

function turnOver(triangles: Uint32Array): Uint32Array {
  const turned = triangles.slice();
  for (let t = 0; t < turned.length; t += 3) {
    turned[t + 1] = triangles[t + 2];
    turned[t + 2] = triangles[t + 1];
  }
  return turned;
}
