import { FettleError } from '../error.js';
import { allMarked, marked } from '../math/marks.js';
import { pointIndex } from '../scan/point-index.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { PlaceTable } from './place-table.js';
import { gone, keepMarked, movedCorners, type Prepared, subset } from './prepared.js';

export interface WeldOptions {
  /** Points up to this far apart become one, mm. Default 0: those at exactly one place. */
  readonly within?: number;
}

/**
 * Merges the points of a mesh, or of a cloud, that are at one place or not farther apart than given; triangles that lose a corner by
 * it go. Of points that merge the first stays as it is. Each point that stays takes those around it that are still there, in
 * the scan's order: points are never handed on along a chain, so none moves farther than `within`.
 *
 * @throws FettleError `prepare-limit` for a distance under 0
 */
export function weld(scan: Scan, { within = 0 }: WeldOptions = {}): Prepared {
  if (!(within >= 0 && within < Infinity))
    throw new FettleError('prepare-limit', `${scanName(scan)}: points cannot be ${within} mm apart. Give 0 or more.`);
  const stands = within === 0 ? firstAtPlace(scan.positions) : firstAround(scan, within);
  const isFirst = new Uint8Array(stands.length);
  for (let p = 0; p < stands.length; p++) if (stands[p] === p) isFirst[p] = 1;
  const keptPoints = marked(isFirst);
  if (keptPoints.length === stands.length) return keepMarked(scan, 'welding', isFirst);
  const into = new Uint32Array(stands.length);
  for (let i = 0; i < keptPoints.length; i++) into[keptPoints[i]] = i;
  for (let p = 0; p < stands.length; p++) into[p] = into[stands[p]];

  const corners = scan.triangles ?? new Uint32Array();
  const stays = allMarked(corners.length / 3);
  for (let t = 0; t < stays.length; t++) {
    const a = into[corners[3 * t]];
    const b = into[corners[3 * t + 1]];
    const c = into[corners[3 * t + 2]];
    if (a === b || b === c || c === a) stays[t] = 0;
  }
  const keptTriangles = marked(stays);
  return {
    scan: subset(scan, keptPoints, movedCorners(corners, keptTriangles, into)),
    from: scan,
    keptPoints,
    keptTriangles,
    removedPoints: marked(isFirst, 0),
    removedTriangles: marked(stays, 0),
    into,
    partial: false,
  };
}

/** For each point the first at its place. */
function firstAtPlace(positions: Float64Array): Uint32Array {
  const first = new Uint32Array(positions.length / 3);
  const stands = new Uint32Array(first.length);
  const table = new PlaceTable(first.length);
  for (let p = 0; p < stands.length; p++) {
    const before = table.count;
    const place = table.number(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
    if (place === before) first[place] = p;
    stands[p] = first[place];
  }
  return stands;
}

/** For each point the one it goes into. */
function firstAround(scan: Scan, within: number): Uint32Array {
  const { select: _, ...all } = scan;
  const { positions } = all;
  const index = pointIndex(all);
  const stands = new Uint32Array(positions.length / 3).fill(gone);
  for (let p = 0; p < stands.length; p++) {
    if (stands[p] !== gone) continue;
    index.eachWithin(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2], within, (q) => {
      if (stands[q] === gone) stands[q] = p;
    });
    stands[p] = p;
  }
  return stands;
}
