import { FettleError } from '../error.js';
import { countText } from '../text/number-text.js';
import type { Scan } from './scan.js';

/** What a scan is made of. Plain arrays are copied, typed arrays of the right type are taken as they are. */
export interface ScanParts {
  /** xyz xyz …, mm. */
  readonly positions: ArrayLike<number>;
  /** Point indices, three a triangle. */
  readonly triangles?: ArrayLike<number>;
  /** xyz xyz …, one a point; need not have unit length. */
  readonly normals?: ArrayLike<number>;
  /** Red, green, blue, 0 to 255, three a point. */
  readonly colors?: ArrayLike<number>;
  /** Opens every message about the scan. Default `scan`. */
  readonly name?: string;
}

/**
 * A checked scan: a mesh if it has triangles, else a cloud.
 *
 * @throws FettleError `scan-empty` (no points), `scan-length` (an array whose length does not fit),
 * `scan-not-finite` (NaN or infinite coordinates), `scan-index-range` (a triangle that names no point).
 */
export function createScan(parts: ScanParts): Scan {
  const name = parts.name ?? 'scan';
  const { positions } = parts;
  if (positions.length % 3 !== 0)
    throw new FettleError(
      'scan-length',
      `${name}: ${countText(positions.length)} coordinates are no whole number of points. Give x, y and z for each point.`,
    );
  const count = positions.length / 3;
  if (count === 0) throw new FettleError('scan-empty', `${name}: holds no points. Export the scan again.`);
  refuseUnlessFinite(name, 'coordinate', positions);
  if (parts.normals) {
    refuseOtherLength(name, 'normals', parts.normals.length, count);
    refuseUnlessFinite(name, 'normal', parts.normals);
  }
  if (parts.colors) refuseOtherLength(name, 'colors', parts.colors.length, count);
  const hasTriangles = parts.triangles !== undefined && parts.triangles.length > 0;
  if (hasTriangles) refuseStrayIndices(name, parts.triangles, count);
  return Object.freeze({
    positions: positions instanceof Float64Array ? positions : Float64Array.from(positions),
    ...(hasTriangles && {
      triangles: parts.triangles instanceof Uint32Array ? parts.triangles : Uint32Array.from(parts.triangles),
    }),
    ...(parts.normals && { normals: unit(parts.normals) }),
    ...(parts.colors && {
      colors: parts.colors instanceof Uint8Array ? parts.colors : Uint8Array.from(Uint8ClampedArray.from(parts.colors)),
    }),
    units: 'mm',
    name,
  } satisfies Scan);
}

function refuseUnlessFinite(name: string, what: string, values: ArrayLike<number>): void {
  let bad = 0;
  let first = 0;
  for (let i = 0; i < values.length; i++) {
    if (Number.isFinite(values[i])) continue;
    if (bad++ === 0) first = i;
  }
  if (bad === 0) return;
  throw new FettleError(
    'scan-not-finite',
    `${name}: ${countText(bad)} ${what}${bad === 1 ? ' is' : 's are'} not a finite number, the first in point ` +
      `${countText(Math.floor(first / 3))} of ${countText(values.length / 3)} (${values[first]}). Leave such points out.`,
  );
}

function refuseOtherLength(name: string, what: string, length: number, count: number): void {
  if (length === 3 * count) return;
  throw new FettleError(
    'scan-length',
    `${name}: ${countText(length)} numbers of ${what} for ${countText(count)} points, expected ${countText(3 * count)}. ` +
      'Give three for each point, or none at all.',
  );
}

function refuseStrayIndices(name: string, triangles: ArrayLike<number>, count: number): void {
  if (triangles.length % 3 !== 0)
    throw new FettleError(
      'scan-length',
      `${name}: ${countText(triangles.length)} indices are no whole number of triangles. Give three for each triangle.`,
    );
  const whole = triangles instanceof Uint32Array;
  for (let i = 0; i < triangles.length; i++) {
    const v = triangles[i];
    if (v < count && (whole || (v >= 0 && Number.isInteger(v)))) continue;
    throw new FettleError(
      'scan-index-range',
      `${name}: triangle ${countText(Math.floor(i / 3))} of ${countText(triangles.length / 3)} names point ` +
        `${Number.isInteger(v) ? countText(v) : v}, but there are only points 0 to ${countText(count - 1)}. Export it again.`,
    );
  }
}

/** Single precision copies at unit length; zero, which means unknown, stays zero. */
function unit(normals: ArrayLike<number>): Float32Array {
  let isUnit = normals instanceof Float32Array;
  const made = isUnit ? (normals as Float32Array) : Float32Array.from(normals);
  for (let i = 0; isUnit && i < made.length; i += 3) {
    const square = made[i] ** 2 + made[i + 1] ** 2 + made[i + 2] ** 2;
    isUnit = square === 0 || Math.abs(square - 1) < 1e-6;
  }
  if (isUnit) return made;
  const result = new Float32Array(made.length);
  for (let i = 0; i < made.length; i += 3) {
    const length = Math.hypot(normals[i], normals[i + 1], normals[i + 2]);
    if (length === 0) continue;
    for (let k = 0; k < 3; k++) result[i + k] = normals[i + k] / length;
  }
  return result;
}
