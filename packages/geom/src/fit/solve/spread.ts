import { FettleError } from '../../error.js';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import type { Vec3 } from '../../math/vec3.js';
import { countText } from '../../text/number-text.js';
import { notFinite, type PointSet, pointAt, tooLarge } from './point-set.js';

/** How points lie about their centroid. */
export interface Spread {
  readonly centroid: Vec3;
  /** Principal axes, the longest first. */
  readonly axes: readonly [Vec3, Vec3, Vec3];
  /** Root mean square extent along each axis, mm, the longest first. */
  readonly extent: readonly [number, number, number];
  /** Root mean square distance from the centroid, mm. */
  readonly size: number;
}

/** Coordinates beyond this, and points nearer together than that, are in other units or garbled, mm: 1,000 km, a picometer. */
const LARGEST = 1e9;
const SMALLEST = 1e-9;

/** Coordinates a block of the loop sums before they go into the totals. */
const BLOCK = 3 * 512;

/**
 * Centroid and principal axes in one pass. The coordinates are taken from the mean of a few points spread over the set, so
 * that nothing cancels however far from zero the scan lies.
 *
 * @throws FettleError `points-not-finite`, `points-too-large`, `points-too-small`, `points-coincide`
 */
export function spreadOf(set: PointSet): Spread {
  const { xyz, count } = set;
  const shift = roughMean(set);
  const sums = new Float64Array(9);
  const end = 3 * count;
  for (let from = 0; from < end; from += BLOCK)
    addMoments(xyz, from, Math.min(end, from + BLOCK), shift[0], shift[1], shift[2], sums);
  const [x, y, z, xx, xy, xz, yy, yz, zz] = sums.map((s) => s / count);
  const total = xx + yy + zz;
  // No coordinate is farther from the shift than the root of the sum of squares: within bounds none needs a second look.
  const bound = Math.max(...shift.map(Math.abs)) + Math.sqrt(total * count);
  if (!(bound <= LARGEST)) refuseOutOfRange(set);
  const covariance = [xx - x * x, xy - x * y, xz - x * z, 0, yy - y * y, yz - y * z, 0, 0, zz - z * z];
  covariance[3] = covariance[1];
  covariance[6] = covariance[2];
  covariance[7] = covariance[5];
  const centroid: Vec3 = [shift[0] + x, shift[1] + y, shift[2] + z];
  const { values, vectors } = symmetricEigen(covariance, 3);
  const extent = values.map((value) => Math.sqrt(Math.max(0, value)));
  const size = Math.hypot(...extent);
  const reach = Math.max(...centroid.map(Math.abs));
  if (!(size > Math.max(SMALLEST, 4 * Number.EPSILON * reach))) throw coincident(set, size);
  return {
    centroid,
    axes: [asVec3(vectors[2]), asVec3(vectors[1]), asVec3(vectors[0])],
    extent: [extent[2], extent[1], extent[0]],
    size,
  };
}

const asVec3 = (a: readonly number[]): Vec3 => [a[0], a[1], a[2]];

/** @throws FettleError `points-not-finite`, `points-too-large` */
function refuseOutOfRange(set: PointSet): void {
  let largest = 0;
  for (let i = 0; i < 3 * set.count; i++) {
    if (!Number.isFinite(set.xyz[i])) throw notFinite(set);
    if (Math.abs(set.xyz[i]) > Math.abs(set.xyz[largest])) largest = i;
  }
  if (Math.abs(set.xyz[largest]) > LARGEST) throw tooLarge(set, Math.floor(largest / 3), LARGEST);
}

function coincident(set: PointSet, size: number): FettleError {
  const { xyz, count, prefix } = set;
  let isSame = true;
  for (let i = 3; i < 3 * count && isSame; i++) isSame = xyz[i] === xyz[i % 3];
  if (isSame || size > SMALLEST)
    return new FettleError(
      'points-coincide',
      `${prefix}All ${countText(count)} points are the same point (${pointAt(set, 0).join(', ')}). ` +
        'Choose a region with some extent.',
    );
  return new FettleError(
    'points-too-small',
    `${prefix}All ${countText(count)} points lie within ${SMALLEST} mm of each other. Coordinates are in mm: ` +
      'read the scan with the units it was written in.',
  );
}

function roughMean({ xyz, count }: PointSet): Vec3 {
  const wanted = Math.min(count, 256);
  const mean = [0, 0, 0];
  for (let s = 0; s < wanted; s++) {
    const p = 3 * Math.floor((s * count) / wanted);
    for (let k = 0; k < 3; k++) mean[k] += xyz[p + k] / wanted;
  }
  return [mean[0], mean[1], mean[2]];
}

/**
 * Typed arrays and numbers alone, as in `normal-equations.ts`. Two loops over a block that stays in the first level of cache, since
 * nine sums in one do not fit the registers; `| 0` spares a look for overflow at each index. 2 M points: 11 ms instead of 16 ms.
 */
function addMoments(
  xyz: Float64Array,
  from: number,
  to: number,
  x0: number,
  y0: number,
  z0: number,
  sums: Float64Array,
): void {
  let sx = 0;
  let sy = 0;
  let sz = 0;
  let xx = 0;
  let yy = 0;
  let zz = 0;
  for (let i = from | 0; i < to; i = (i + 3) | 0) {
    const x = xyz[i] - x0;
    const y = xyz[(i + 1) | 0] - y0;
    const z = xyz[(i + 2) | 0] - z0;
    sx += x;
    sy += y;
    sz += z;
    xx += x * x;
    yy += y * y;
    zz += z * z;
  }
  let xy = 0;
  let xz = 0;
  let yz = 0;
  for (let i = from | 0; i < to; i = (i + 3) | 0) {
    const x = xyz[i] - x0;
    const y = xyz[(i + 1) | 0] - y0;
    const z = xyz[(i + 2) | 0] - z0;
    xy += x * y;
    xz += x * z;
    yz += y * z;
  }
  sums[0] += sx;
  sums[1] += sy;
  sums[2] += sz;
  sums[3] += xx;
  sums[4] += xy;
  sums[5] += xz;
  sums[6] += yy;
  sums[7] += yz;
  sums[8] += zz;
}
