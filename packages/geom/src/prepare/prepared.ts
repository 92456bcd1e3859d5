import { FettleError } from '../error.js';
import { allMarked, marked } from '../math/marks.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { countText } from '../text/number-text.js';

/** Stands for the new number of a point that is gone. */
export const gone = 0xffffffff;

/** What a preparation gives: the new scan, what of the old one is missing from it, and which point is which. */
export interface Prepared {
  readonly scan: Scan;
  /** The scan given, untouched; `scan` is this very one if nothing changed. */
  readonly from: Scan;
  /** For each point of `scan` the point of `from` it is, or stands for. Ascending: what is kept keeps its order. */
  readonly keptPoints: Uint32Array;
  /**
   * The triangles of `from` that are in `scan`, ascending; they are its first ones, in this order. A triangle whose corners were
   * welded is still the same.
   */
  readonly keptTriangles: Uint32Array;
  /** Points of `from` that are not among `keptPoints`, ascending. */
  readonly removedPoints: Uint32Array;
  /** Triangles of `from` that are not among `keptTriangles`, ascending. */
  readonly removedTriangles: Uint32Array;
  /** For each point of `from` its number in `scan`, of a merged one that of the point it went into; {@link gone} without one. */
  readonly into: Uint32Array;
  /** Whether all in `scan` is as it was in `from`, so that some of what was removed can be given back without the rest. */
  readonly partial: boolean;
}

/** A preparation that takes nothing away. */
export const allKept = (from: Scan): Prepared => keepMarked(from, 'nothing', allMarked(from.positions.length / 3));

/**
 * Keeps the marked points and triangles of a scan. A triangle goes with any of its corners; a point stays though all its
 * triangles go. Everything kept is bit for bit as it was and in the same order.
 *
 * @param points 1 for each point to keep
 * @param triangles 1 for each triangle to keep, if its corners are; absent: all
 * @param by what takes the rest away, for the message: `the crop`
 * @throws FettleError `prepare-empty` if no point is left
 */
export function keepMarked(from: Scan, by: string, points: Uint8Array, triangles?: Uint8Array): Prepared {
  const keptPoints = marked(points);
  if (keptPoints.length === 0)
    throw new FettleError(
      'prepare-empty',
      `${scanName(from)}: ${by} leaves none of ${countText(points.length)} points. Ask for less to be taken away.`,
    );
  const corners = from.triangles ?? new Uint32Array();
  const stays = new Uint8Array(corners.length / 3);
  for (let t = 0; t < stays.length; t++)
    if (points[corners[3 * t]] === 1 && points[corners[3 * t + 1]] === 1 && points[corners[3 * t + 2]] === 1)
      stays[t] = triangles === undefined ? 1 : triangles[t];
  const keptTriangles = marked(stays);
  const into = numbersAfter(keptPoints, points.length);
  const hasAllPoints = keptPoints.length === points.length;
  const isWhole = hasAllPoints && keptTriangles.length === stays.length;
  const moved = () => movedCorners(corners, keptTriangles, into);
  return {
    scan: isWhole ? from : hasAllPoints ? withTriangles(from, moved()) : subset(from, keptPoints, moved()),
    from,
    keptPoints,
    keptTriangles,
    removedPoints: marked(points, 0),
    removedTriangles: marked(stays, 0),
    into,
    partial: true,
  };
}

/** For each of `count` points its place among those kept; {@link gone} for the others. */
export function numbersAfter(keptPoints: Uint32Array, count: number): Uint32Array {
  const into = new Uint32Array(count).fill(gone);
  for (let i = 0; i < keptPoints.length; i++) into[keptPoints[i]] = i;
  return into;
}

/** The corners of some triangles, by their new numbers. */
export function movedCorners(corners: Uint32Array, triangles: Uint32Array, into: Uint32Array): Uint32Array {
  const moved = new Uint32Array(3 * triangles.length);
  for (let i = 0; i < triangles.length; i++)
    for (let k = 0; k < 3; k++) moved[3 * i + k] = into[corners[3 * triangles[i] + k]];
  return moved;
}

function withTriangles({ triangles: _, ...rest }: Scan, triangles: Uint32Array): Scan {
  return Object.freeze({ ...rest, ...(triangles.length > 0 && { triangles }) });
}

/** Some points of a scan, with all they carry, and triangles over them. */
export function subset(from: Scan, points: Uint32Array, triangles: Uint32Array): Scan {
  const { triangles: _, select: __, ...rest } = from;
  return Object.freeze({
    ...rest,
    positions: gather(from.positions, new Float64Array(3 * points.length), points),
    ...(triangles.length > 0 && { triangles }),
    ...(from.normals && { normals: gather(from.normals, new Float32Array(3 * points.length), points) }),
    ...(from.colors && { colors: gather(from.colors, new Uint8Array(3 * points.length), points) }),
  });
}

function gather<A extends Float64Array | Float32Array | Uint8Array>(from: A, to: A, points: Uint32Array): A {
  for (let i = 0; i < points.length; i++) {
    const p = 3 * points[i];
    to[3 * i] = from[p];
    to[3 * i + 1] = from[p + 1];
    to[3 * i + 2] = from[p + 2];
  }
  return to;
}

/** `12,030 of 150,000 triangles and 6,044 of 75,000 points` that were removed. */
export function removedInWords({ from, removedPoints, removedTriangles }: Prepared): string {
  const ofPoints = `${countText(removedPoints.length)} of ${countText(from.positions.length / 3)} points`;
  if (!from.triangles) return ofPoints;
  return `${countText(removedTriangles.length)} of ${countText(from.triangles.length / 3)} triangles and ${ofPoints}`;
}
