import { FettleError } from '../error.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { pointSpacing } from '../scan/spacing.js';

/** Points looked at for the extent. */
const SAMPLE = 20_000;
/** Pieces along the extent of a body. */
const ALONG = 110;
const ALONG_SCAN = 50;

/** Diagonal of the box that holds all but 2 % of the points along each axis, mm: strays far off do not count. */
export function extentOf({ positions, select }: Scan): number {
  const total = select ? select.length : positions.length / 3;
  const every = Math.max(1, total / SAMPLE);
  const count = Math.floor(total / every);
  let square = 0;
  for (let axis = 0; axis < 3; axis++) {
    const values = Float64Array.from({ length: count }, (_, k) => {
      const i = Math.floor(k * every);
      return positions[3 * (select ? select[i] : i) + axis];
    }).sort();
    square += (values[Math.ceil(0.99 * (count - 1))] - values[Math.floor(0.01 * (count - 1))]) ** 2;
  }
  return Math.sqrt(square);
}

/**
 * Edge of the cubes both scans are cut into, mm: a hundredth of the body, and wide enough to hold several points of the coarser scan.
 *
 * @throws FettleError `scan-empty` where a scan has no extent
 */
export function patchSide(scan: Scan, reference: Scan): number {
  const [own, other] = [extentOf(scan), extentOf(reference)];
  for (const [one, extent] of [
    [scan, own],
    [reference, other],
  ] as const)
    if (!(extent > 0))
      throw new FettleError('scan-empty', `${scanName(one)}: all points are one place. Scan a surface.`);
  const fine = Math.max(Math.min(other / ALONG, own / ALONG_SCAN), other / 300, own / 300);
  return Math.max(fine, 2.5 * cloudSpacing(scan), 2.5 * cloudSpacing(reference));
}

/** Triangles are cut up where they are large; points of a cloud are not. */
const cloudSpacing = (scan: Scan): number => (scan.triangles ? 0 : pointSpacing(scan));
