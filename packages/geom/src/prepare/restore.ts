import { FettleError } from '../error.js';
import { marked } from '../math/marks.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { keepMarked, type Prepared, subset } from './prepared.js';

/**
 * Gives back what a preparation removed: all of it, or some of the removed points with those triangles that then have all
 * their corners. What comes back stands where it stood: with all of it the scan is as it was given.
 *
 * @param points numbers of points in the scan given to the preparation
 * @throws FettleError `prepare-restore` for some points of a scan whose points were merged, moved or joined anew: it can
 * be had back only as a whole
 */
export function restore(prepared: Prepared, points?: Uint32Array): Scan {
  const { from, keptPoints, keptTriangles, removedTriangles, partial } = prepared;
  if (points === undefined) return from;
  if (!partial)
    throw new FettleError(
      'prepare-restore',
      `${scanName(from)}: points were merged or joined anew; some of them cannot be given back alone. Take all back.`,
    );
  const isThere = new Uint8Array(from.positions.length / 3);
  for (const p of keptPoints) isThere[p] = 1;
  const corners = from.triangles ?? new Uint32Array();
  const stays = new Uint8Array(corners.length / 3);
  for (const t of keptTriangles) stays[t] = 1;
  // A triangle that went though its corners stayed went for its own sake.
  for (const t of removedTriangles) for (let k = 0; k < 3; k++) if (isThere[corners[3 * t + k]] === 0) stays[t] = 1;
  for (const p of points) isThere[p] = 1;
  return keepMarked(from, 'nothing', isThere, stays).scan;
}

/** What was removed as a scan of its own, to look at or to keep beside: undefined if nothing was. */
export function removedPart({ from, removedPoints, removedTriangles }: Prepared): Scan | undefined {
  if (removedPoints.length + removedTriangles.length === 0) return undefined;
  const corners = from.triangles ?? new Uint32Array();
  const isPart = new Uint8Array(from.positions.length / 3);
  for (const p of removedPoints) isPart[p] = 1;
  for (const t of removedTriangles) for (let k = 0; k < 3; k++) isPart[corners[3 * t + k]] = 1;
  const points = marked(isPart);
  const place = new Uint32Array(isPart.length);
  for (let i = 0; i < points.length; i++) place[points[i]] = i;
  const triangles = new Uint32Array(3 * removedTriangles.length);
  for (let i = 0; i < removedTriangles.length; i++)
    for (let k = 0; k < 3; k++) triangles[3 * i + k] = place[corners[3 * removedTriangles[i] + k]];
  return subset(from, points, triangles);
}

/** A region chosen on the scan given, by the numbers its points have now; those that are gone are left out. Ascending. */
export function regionAfter({ into, scan }: Prepared, region: Uint32Array): Uint32Array {
  const isThere = new Uint8Array(scan.positions.length / 3);
  for (let i = 0; i < region.length; i++) if (into[region[i]] < isThere.length) isThere[into[region[i]]] = 1;
  return marked(isThere);
}
