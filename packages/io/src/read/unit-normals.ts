/**
 * Normals of any length in [from, to) made unit; those that are so to within single precision are left as they are, unknown
 * ones zero.
 */
export function makeUnit(normals: Float32Array, from = 0, to = normals.length): void {
  for (let i = from; i < to; i += 3) {
    const square = normals[i] * normals[i] + normals[i + 1] * normals[i + 1] + normals[i + 2] * normals[i + 2];
    if (Math.abs(square - 1) < 1e-5 || square === 0) continue;
    const length = Math.sqrt(square);
    const known = Number.isFinite(length) && length > 0;
    for (let k = i; k < i + 3; k++) normals[k] = known ? normals[k] / length : 0;
  }
}
