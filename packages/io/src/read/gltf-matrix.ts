import { countText } from '../text/number-text.js';
import type { Complain, Fields } from './gltf-fields.js';

/** Matrices of 4 × 4, column by column, as glTF has them. */

export const identity: readonly number[] = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** A node's matrix, or the one of its translation, rotation and scale. */
export function matrixOf(node: Fields, complain: Complain): readonly number[] {
  const numbers = (name: string, otherwise: readonly number[]): readonly number[] => {
    const value = node[name] ?? otherwise;
    const isRight = Array.isArray(value) && value.length === otherwise.length && value.every(Number.isFinite);
    if (!isRight) complain(`a node's ${name} should be ${countText(otherwise.length)} numbers`);
    return value as readonly number[];
  };
  if (node.matrix !== undefined) return numbers('matrix', identity);
  return fromParts(numbers('translation', [0, 0, 0]), numbers('rotation', [0, 0, 0, 1]), numbers('scale', [1, 1, 1]));
}

/** First scaled, then turned by the quaternion x, y, z, w, then moved. */
export function fromParts(
  [tx, ty, tz]: readonly number[],
  [x, y, z, w]: readonly number[],
  [sx, sy, sz]: readonly number[],
): readonly number[] {
  return [
    sx * (1 - 2 * (y * y + z * z)),
    sx * 2 * (x * y + z * w),
    sx * 2 * (x * z - y * w),
    0,
    sy * 2 * (x * y - z * w),
    sy * (1 - 2 * (x * x + z * z)),
    sy * 2 * (y * z + x * w),
    0,
    sz * 2 * (x * z + y * w),
    sz * 2 * (y * z - x * w),
    sz * (1 - 2 * (x * x + y * y)),
    0,
    tx,
    ty,
    tz,
    1,
  ];
}

/** a · b, both column by column. */
export const product = (a: readonly number[], b: readonly number[]): number[] =>
  Array.from({ length: 16 }, (_, i) => {
    const [row, column] = [i % 4, i - (i % 4)];
    return a[row] * b[column] + a[row + 4] * b[column + 1] + a[row + 8] * b[column + 2] + a[row + 12] * b[column + 3];
  });

export const determinant = (m: readonly number[]): number =>
  m[0] * (m[5] * m[10] - m[9] * m[6]) - m[4] * (m[1] * m[10] - m[9] * m[2]) + m[8] * (m[1] * m[6] - m[5] * m[2]);

/** Cofactors of the upper 3 × 3, column by column, with the sign that keeps normals outward: the inverse transposed, up to scale. */
export function cofactors(m: readonly number[]): readonly number[] {
  const sign = determinant(m) < 0 ? -1 : 1;
  const [a, b, c, d, e, f, g, h, i] = [m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]];
  return [
    sign * (e * i - h * f),
    sign * (g * f - d * i),
    sign * (d * h - g * e),
    sign * (h * c - b * i),
    sign * (a * i - g * c),
    sign * (g * b - a * h),
    sign * (b * f - e * c),
    sign * (d * c - a * f),
    sign * (a * e - d * b),
  ];
}
