import { MeshoptSimplifier } from 'meshoptimizer/simplifier';
import { FettleError } from '../error.js';
import { marked } from '../math/marks.js';
import { indexRegion } from '../region/index-region.js';
import { bounds, boundsCenter } from '../scan/bounds.js';
import type { Mesh, Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { countText } from '../text/number-text.js';
import { type Deviation, deviationBeyond, deviationInWords } from './deviation.js';
import { movedCorners, numbersAfter, type Prepared, subset } from './prepared.js';
import { refuseAbove, type Split, splitProtected } from './protected.js';

/** How far to simplify: one of `triangles` and `deviation`. */
export interface SimplifyOptions {
  /** The number of triangles to come down to. The shape's own limits can stop it earlier, above the number. */
  readonly triangles?: number;
  /** As few triangles as this leaves, mm: no measured place of either surface is farther from the other. */
  readonly deviation?: number;
  /** Points of regions to keep at full density: they, the triangles about them and all the corners of those stay as they are. */
  readonly protect?: Uint32Array;
  /** An `AbortSignal`, or anything with its `aborted`: looked at between the passes; `aborted` is thrown. */
  readonly signal?: { readonly aborted: boolean };
}

export interface Simplified extends Prepared {
  readonly scan: Mesh;
  /** Measured afterwards. */
  readonly deviation: Deviation;
  /** How many of the triangles are protected: the first of the new scan. */
  readonly protectedTriangles: number;
}

/**
 * A mesh with fewer triangles. Every point of it is a point of the mesh given, with its own double precision place, normal and color,
 * in the old order: nothing is moved. Fits to a protected region, its points renumbered by `regionAfter`, therefore
 * give what they give on the whole scan, digit for digit.
 *
 * Edges are collapsed in order of their quadric error by meshoptimizer (Garland & Heckbert, SIGGRAPH 1997), on single precision
 * coordinates about the middle of the scan. Its own error is an estimate: the deviation told is measured afterwards, and that asked for
 * is approached by measuring, in up to {@link mostPasses} passes from the mesh given.
 *
 * @throws FettleError `prepare-cloud` for a cloud; `prepare-limit` unless one of `triangles` and `deviation` is given, above 0;
 * `simplify-protected` if more triangles than asked for are protected; `region-index-range` for a protected point there is not;
 * `simplify-memory`; `aborted`
 */
export async function simplify(scan: Scan, options: SimplifyOptions): Promise<Simplified> {
  const mesh = checked(scan, options);
  await MeshoptSimplifier.ready;
  const { protect } = options;
  const split = splitProtected(mesh, protect?.length ? indexRegion(mesh, protect) : new Uint32Array());
  if (options.triangles === undefined) return toDeviation(mesh, split, options.deviation!, options);
  const { kept, free, isFixed } = split;
  refuseAbove(options.triangles, kept.length, mesh);
  const room = Math.min(3 * Math.floor(options.triangles - kept.length), free.length);
  stopIf(options, scan);
  const [corners] = reduce(mesh, free, isFixed, room, Infinity);
  return measured(mesh, split, corners, options).found;
}

/** How many times a mesh is simplified at most to come near a deviation. */
const mostPasses = 10;

/** With more than this share of the places too far off the error allowed is too large; with less, they are exceptions. */
const exceptions = 0.01;

/**
 * The fewest triangles found that hold the deviation. The error allowed is raised for as long as that pays. Where single places are too
 * far off, the points about them are held from then on.
 *
 * Lessening the error until no place at all is too far off was tried: of a pump of 144,396 triangles
 * (examples/pump) it spared none at 0.1 mm, for some places at ragged rims, of a wavy face of 178,802 it left 12,075; this
 * leaves 75,525 and 3,913.
 */
async function toDeviation(mesh: Mesh, split: Split, limit: number, options: SimplifyOptions): Promise<Simplified> {
  const isFixed = split.isFixed.slice();
  let best: Simplified | undefined;
  // The estimate is about the root mean square of what a collapse displaces: the largest is some times that.
  let error = limit / 2;
  for (let pass = 0; pass < mostPasses; pass++) {
    stopIf(options, mesh);
    const [corners] = reduce(mesh, split.free, isFixed, 0, error);
    const { found, beyond } = measured(mesh, split, corners, options, limit);
    if (beyond.length === 0) {
      const isBetter = best === undefined || found.scan.triangles.length < best.scan.triangles.length;
      if (isBetter) best = found;
      if (!isBetter || corners.length === 0) break;
      error *= 1.5;
      continue;
    }
    const { fromOld, fromNew } = found.deviation;
    const isTooMuch = beyond.length > exceptions * (fromOld.count + fromNew.count);
    if (isTooMuch && best !== undefined) break;
    if (isTooMuch && pass < 2) error *= 0.6;
    else hold(mesh, beyond, isFixed);
  }
  return best ?? measured(mesh, split, split.free, options).found;
}

/** Fixes points and their neighbors. */
function hold({ triangles }: Mesh, points: readonly number[], isFixed: Uint8Array): void {
  const isHeld = new Uint8Array(isFixed.length);
  for (const p of points) isHeld[p] = 1;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [triangles[t], triangles[t + 1], triangles[t + 2]];
    if ((isHeld[a] | isHeld[b] | isHeld[c]) === 0) continue;
    isFixed[a] = 1;
    isFixed[b] = 1;
    isFixed[c] = 1;
  }
}

/** The corners left of some triangles, and the error estimated, mm. */
function reduce(
  { positions, name }: Mesh,
  corners: Uint32Array,
  isFixed: Uint8Array,
  target: number,
  error: number,
): [corners: Uint32Array, error: number] {
  if (corners.length <= target) return [corners, 0];
  const center = boundsCenter(bounds({ positions }));
  const local = new Float32Array(positions.length);
  for (let i = 0; i < local.length; i += 3) for (let k = 0; k < 3; k++) local[i + k] = positions[i + k] - center[k];
  const most = Math.min(error, 1e30);
  try {
    return MeshoptSimplifier.simplifyWithAttributes(
      corners,
      local,
      3,
      new Float32Array(),
      0,
      [],
      isFixed,
      target,
      most,
      ['ErrorAbsolute'],
    );
  } catch (cause) {
    // Its memory ends at 4 GB, some 30 million triangles.
    throw new FettleError(
      'simplify-memory',
      `${name}: simplifying ${countText(corners.length / 3)} triangles takes more memory than there is. Crop the scan or drop pieces first.`,
      { cause },
    );
  }
}

/** The new mesh, protected triangles first, with its deviation; and the old points about places beyond the limit. */
function measured(
  mesh: Mesh,
  { kept, isFixed }: Split,
  corners: Uint32Array,
  options: SimplifyOptions,
  limit = Infinity,
): { readonly found: Simplified; readonly beyond: readonly number[] } {
  const { positions, triangles } = mesh;
  const isThere = new Uint8Array(positions.length / 3);
  for (let i = 0; i < isFixed.length; i++) isThere[i] = isFixed[i];
  for (let i = 0; i < corners.length; i++) isThere[corners[i]] = 1;
  const keptPoints = marked(isThere);
  const into = numbersAfter(keptPoints, isThere.length);
  const renumbered = new Uint32Array(3 * kept.length + corners.length);
  renumbered.set(movedCorners(triangles, kept, into));
  for (let i = 0; i < corners.length; i++) renumbered[3 * kept.length + i] = into[corners[i]];
  const stays = new Uint8Array(triangles.length / 3);
  for (let i = 0; i < kept.length; i++) stays[kept[i]] = 1;
  const prepared = {
    scan: subset(mesh, keptPoints, renumbered) as Mesh,
    from: mesh,
    keptPoints,
    keptTriangles: kept,
    removedPoints: marked(isThere, 0),
    removedTriangles: marked(stays, 0),
    into,
    partial: false,
  };
  stopIf(options, mesh);
  const { deviation, beyond } = deviationBeyond(prepared, limit);
  return { found: { ...prepared, deviation, protectedTriangles: kept.length }, beyond };
}

function checked(scan: Scan, { triangles, deviation: limit }: SimplifyOptions): Mesh {
  if (!scan.triangles)
    throw new FettleError('prepare-cloud', `${scanName(scan)}: a cloud has no triangles to simplify. Thin it.`);
  const asked = triangles ?? limit ?? 0;
  if ((triangles === undefined) === (limit === undefined) || !(asked > 0 && asked < Infinity))
    throw new FettleError(
      'prepare-limit',
      `${scanName(scan)}: simplifying needs a number of triangles or a deviation in mm, one of the two, above 0; given ` +
        `${triangles ?? 'none'} and ${limit ?? 'none'}.`,
    );
  return scan as Mesh;
}

function stopIf({ signal }: SimplifyOptions, { name }: Scan): void {
  if (signal?.aborted) throw new FettleError('aborted', `${name}: stopped while it was being simplified.`);
}

/** `1,000,000 triangles simplified to 200,000, 31,200 of them protected; …` with the deviation measured. */
export function simplifiedInWords({ from, scan, deviation: off, protectedTriangles }: Simplified): string {
  const [before, now] = [from.triangles!.length / 3, scan.triangles.length / 3].map(countText);
  const kept = protectedTriangles === 0 ? '' : `, ${countText(protectedTriangles)} of them protected`;
  return `${before} triangles simplified to ${now}${kept}; ${deviationInWords(off)}`;
}
