import { FettleError } from '../error.js';
import { nthSmallest } from '../math/nth-smallest.js';
import type { Vec3 } from '../math/vec3.js';
import type { Mesh } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { triangleIndex } from '../scan/triangle-index.js';
import { countText, lengthText, placeText } from '../text/number-text.js';
import { gone, type Prepared } from './prepared.js';

/** Distances of many places from a surface, mm. */
export interface Spread {
  /** How many places were measured. */
  readonly count: number;
  readonly rms: number;
  /** 95 % are no farther. */
  readonly p95: number;
  readonly max: number;
  /** Where it is that far: the place measured, in scan axes. */
  readonly at: Vec3;
}

/** How far a mesh and what was made of it are apart, measured both ways. */
export interface Deviation {
  /** Every point of the mesh given that is a corner of a triangle, from the surface now. Those that are still there are 0 off. */
  readonly fromOld: Spread;
  /**
   * The surface now from the surface given: of every triangle that is new its middle and the middle of its longest edge, which is
   * where a flat triangle leaves a curved surface farthest. Its corners are points that were kept.
   */
  readonly fromNew: Spread;
  /** The larger of the two, mm. */
  readonly max: number;
}

/**
 * Measures the distance between a mesh and what it became, both ways, in double precision; nothing is sampled out.
 *
 * Starting each search from a triangle at a point kept nearby was tried: 4.4 s against 4.3 s for 4.5 M triangles
 * reduced to 0.9 M (4 million searches), so each starts from nothing.
 *
 * @throws FettleError `prepare-cloud` for clouds
 */
export const deviation = (prepared: Prepared): Deviation => deviationBeyond(prepared, Infinity).deviation;

/** The deviation, and points of the old mesh about all places that deviate by more than a limit, mm. */
export function deviationBeyond(
  { from, scan, into, keptTriangles }: Prepared,
  limit: number,
): { readonly deviation: Deviation; readonly beyond: readonly number[] } {
  if (!from.triangles || !scan.triangles)
    throw new FettleError('prepare-cloud', `${scanName(from)}: a deviation is between meshes, and this is a cloud.`);
  const [before, now] = [from as Mesh, scan as Mesh];
  const beyond: number[] = [];
  const fromOld = oldToNew(before, now, into, limit ** 2, beyond);
  const fromNew = newToOld(before, now, keptTriangles.length, limit ** 2, beyond);
  return { deviation: { fromOld, fromNew, max: Math.max(fromOld.max, fromNew.max) }, beyond };
}

function oldToNew(before: Mesh, now: Mesh, into: Uint32Array, limit: number, beyond: number[]): Spread {
  const index = triangleIndex(now);
  const { positions } = before;
  const isOld = corners(before);
  const isNew = corners(now);
  const squares = new Float64Array(into.length);
  let count = 0;
  let most = -1;
  let at = 0;
  for (let p = 0; p < into.length; p++) {
    if (isOld[p] === 0) continue;
    const isStill = into[p] !== gone && isNew[into[p]] === 1;
    const square = isStill ? 0 : index.squaredDistance(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
    squares[count++] = square;
    if (square > limit) beyond.push(p);
    if (square <= most) continue;
    most = square;
    at = p;
  }
  return spreadOf(squares.subarray(0, count), [positions[3 * at], positions[3 * at + 1], positions[3 * at + 2]]);
}

/** 1 for each point that is a corner of a triangle. */
function corners({ positions, triangles }: Mesh): Uint8Array {
  const isCorner = new Uint8Array(positions.length / 3);
  for (let c = 0; c < triangles.length; c++) isCorner[triangles[c]] = 1;
  return isCorner;
}

/** @param kept how many triangles, the first, are as they were: both their places are on the old surface, 0 off */
function newToOld(before: Mesh, now: Mesh, kept: number, limit: number, beyond: number[]): Spread {
  const index = triangleIndex(before);
  const { positions, triangles } = now;
  const count = triangles.length / 3;
  const squares = new Float64Array(2 * count);
  let most = -1;
  let at: Vec3 = [positions[0], positions[1], positions[2]];
  const measure = (n: number, x: number, y: number, z: number): void => {
    const square = index.squaredDistance(x, y, z);
    squares[n] = square;
    if (square > limit) {
      const t = 3 * index.nearest([x, y, z])!.element;
      beyond.push(before.triangles[t], before.triangles[t + 1], before.triangles[t + 2]);
    }
    if (square <= most) return;
    most = square;
    at = [x, y, z];
  };
  for (let t = kept; t < count; t++) {
    const k = longestEdge(positions, triangles, t);
    const p = 3 * triangles[3 * t + k];
    const q = 3 * triangles[3 * t + ((k + 1) % 3)];
    const r = 3 * triangles[3 * t + ((k + 2) % 3)];
    const x = positions[p] + positions[q];
    const y = positions[p + 1] + positions[q + 1];
    const z = positions[p + 2] + positions[q + 2];
    measure(2 * t, x / 2, y / 2, z / 2);
    measure(2 * t + 1, (x + positions[r]) / 3, (y + positions[r + 1]) / 3, (z + positions[r + 2]) / 3);
  }
  return spreadOf(squares, at);
}

/** The corner the longest edge of triangle t runs from. */
function longestEdge(positions: Float64Array, triangles: Uint32Array, t: number): number {
  let longest = -1;
  let from = 0;
  for (let k = 0; k < 3; k++) {
    const a = 3 * triangles[3 * t + k];
    const b = 3 * triangles[3 * t + ((k + 1) % 3)];
    const dx = positions[a] - positions[b];
    const dy = positions[a + 1] - positions[b + 1];
    const dz = positions[a + 2] - positions[b + 2];
    const square = dx * dx + dy * dy + dz * dz;
    if (square <= longest) continue;
    longest = square;
    from = k;
  }
  return from;
}

function spreadOf(squares: Float64Array, at: Vec3): Spread {
  let sum = 0;
  let most = 0;
  for (let i = 0; i < squares.length; i++) {
    sum += squares[i];
    if (squares[i] > most) most = squares[i];
  }
  const p95 = Math.sqrt(nthSmallest(squares, Math.max(0, Math.ceil(0.95 * squares.length) - 1)));
  return { count: squares.length, rms: Math.sqrt(sum / squares.length), p95, max: Math.sqrt(most), at };
}

const spreadInWords = ({ rms, p95, max, at }: Spread): string =>
  `rms ${figure(rms)}, 95 % within ${figure(p95)}, at most ${figure(max)}` +
  (max > 0 ? ` at ${placeText(at.map((c) => Number(c.toFixed(1))))} in scan axes` : '');

/** Two digits say all there is to say. */
const figure = (mm: number): string => lengthText(Number(mm.toPrecision(2)));

/** For the report: what was measured, on how many places, with the largest deviation's place in scan axes. */
export const deviationInWords = ({ fromOld, fromNew }: Deviation): string =>
  `all ${countText(fromOld.count)} original points from the new surface: ${spreadInWords(fromOld)}; the new surface from the ` +
  `original one, at ${countText(fromNew.count)} places: ${spreadInWords(fromNew)}`;
