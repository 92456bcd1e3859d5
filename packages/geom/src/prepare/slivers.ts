import { FettleError } from '../error.js';
import { allMarked } from '../math/marks.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { triangleArea } from '../scan/triangle-normal.js';
import { keepMarked, type Prepared } from './prepared.js';

export interface SliverOptions {
  /** Triangles whose least height is up to this go, mm. Default 0: those without any area. */
  readonly height?: number;
}

/**
 * Drops the slivers of a mesh: triangles so narrow that they are an edge rather than a face, and have no normal to speak of. Points
 * all stay. Where a sliver was, a crack as narrow is left: nothing is filled.
 *
 * @throws FettleError `prepare-limit` for a height under 0
 */
export function dropSlivers(scan: Scan, { height = 0 }: SliverOptions = {}): Prepared {
  if (!(height >= 0 && height < Infinity))
    throw new FettleError('prepare-limit', `${scanName(scan)}: no triangle is ${height} mm high. Give 0 or more.`);
  const { positions } = scan;
  const corners = scan.triangles ?? new Uint32Array();
  const stays = allMarked(corners.length / 3);
  for (let t = 0; t < stays.length; t++) {
    let longest = 0;
    for (let k = 0; k < 3; k++) {
      const a = 3 * corners[3 * t + k];
      const b = 3 * corners[3 * t + ((k + 1) % 3)];
      const dx = positions[a] - positions[b];
      const dy = positions[a + 1] - positions[b + 1];
      const dz = positions[a + 2] - positions[b + 2];
      longest = Math.max(longest, dx * dx + dy * dy + dz * dz);
    }
    // The least height stands on the longest edge.
    if (2 * triangleArea(positions, corners, t) <= height * Math.sqrt(longest)) stays[t] = 0;
  }
  return keepMarked(scan, 'dropping slivers', allMarked(positions.length / 3), stays);
}
