import {
  type Bounds,
  bounds,
  holes,
  noPiece,
  pieces,
  pointSpacing,
  type Scan,
  type Vec3,
  type Warning,
} from '@fettle/geom';
import { judgeSize, type SizeJudged } from '../read/plausible-size.js';
import type { ReadScan, ScanSource } from '../read/scan-source.js';

/** What there is to know of a scan before measuring it. */
export interface ScanInfo {
  readonly name: string;
  /** Of the file; absent for a scan that was not read from one. */
  readonly source?: Omit<ScanSource, 'warnings'>;
  readonly points: number;
  readonly triangles: number;
  readonly normals: boolean;
  readonly colors: boolean;
  readonly bounds: Bounds;
  /** Along x, y and z, mm. */
  readonly extent: Vec3;
  /** Whether the largest extent is one of a machine or a part of one. */
  readonly size: SizeJudged;
  /** Median distance between neighbors, mm. */
  readonly spacing: number;
  /** Of a mesh: its connected pieces. */
  readonly pieces?: {
    readonly count: number;
    /** Share of the area the largest has, 0 to 1. */
    readonly largest: number;
    /** Pieces of less than a thousandth of the area: specks. */
    readonly specks: number;
    /** Points that no triangle has as a corner. */
    readonly loosePoints: number;
  };
  /** Of a mesh: its boundary loops, and the lengths of the longest, mm. */
  readonly holes?: { readonly count: number; readonly longest: readonly number[] };
  readonly warnings: readonly Warning[];
}

/** A thousandth of the area: a fleck of dust, not a part. */
const SPECK = 1e-3;
const LONGEST = 3;

/** Looks a scan over: what it holds, its size, and what may trouble a measurement. */
export function scanInfo(scan: Scan & Partial<Pick<ReadScan, 'source'>>): ScanInfo {
  const { positions, triangles, normals, colors, source } = scan;
  const box = bounds(scan);
  const extent: Vec3 = [box.max[0] - box.min[0], box.max[1] - box.min[1], box.max[2] - box.min[2]];
  const { warnings = [], ...origin } = source ?? {};
  return {
    name: scan.name,
    ...(source && { source: origin as Omit<ScanSource, 'warnings'> }),
    points: positions.length / 3,
    triangles: triangles ? triangles.length / 3 : 0,
    normals: normals !== undefined,
    colors: colors !== undefined,
    bounds: box,
    extent,
    size: judgeSize(Math.max(...extent), source?.unit ?? 'mm'),
    spacing: pointSpacing(scan),
    ...(triangles && { pieces: piecesOf(scan), holes: holesOf(scan) }),
    warnings,
  };
}

function piecesOf(scan: Scan): NonNullable<ScanInfo['pieces']> {
  const { pieces: found, labels } = pieces(scan);
  const area = found.reduce((sum, piece) => sum + piece.area, 0);
  return {
    count: found.length,
    largest: area > 0 ? found[0]!.area / area : 1,
    specks: found.filter((piece, p) => p > 0 && piece.area < SPECK * area).length,
    loosePoints: labels.reduce((count, label) => count + (label === noPiece ? 1 : 0), 0),
  };
}

function holesOf(scan: Scan): NonNullable<ScanInfo['holes']> {
  const found = holes(scan);
  return { count: found.length, longest: found.slice(0, LONGEST).map((hole) => hole.perimeter) };
}
