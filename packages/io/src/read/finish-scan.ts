import type { Warning } from '@fettle/geom';
import { counted } from '../text/number-text.js';
import { doubtfulSize } from './plausible-size.js';
import { cutConcave } from './polygons.js';
import type { FileContents, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { RunningBounds } from './running-bounds.js';
import { makeUnit } from './unit-normals.js';
import { type LengthUnit, millimetersIn } from './units.js';

/** Arrays of a scan whose every coordinate is a number, in mm. */
export interface FinishedArrays {
  readonly positions: Float64Array;
  readonly triangles?: Uint32Array;
  readonly normals?: Float32Array;
  readonly colors?: Uint8Array;
}

/** From the contents of a file to a scan: concave polygons cut, points that are no points dropped, lengths in mm. */
export function finishScan(contents: FileContents, unit: LengthUnit, context: ReadContext): FinishedArrays {
  const { name, warnings } = context;
  if (contents.positions.length === 0) {
    throw refusal(name, 'no-points', 'the file holds no points. Export the scan again.');
  }
  if (contents.polygons !== undefined && contents.triangles !== undefined) {
    const left = cutConcave(contents.positions, contents.triangles, contents.polygons);
    if (left > 0) {
      warnings.push({
        code: 'crooked-polygons',
        message: `${name}: ${counted(left, 'polygon')} left as fans, which may overlap: no clean cut, or very many corners.`,
      });
    }
  }
  let kept: FinishedArrays = contents;
  let bounds = boundsOf(contents.positions, contents.bounds);
  if (bounds === undefined) {
    kept = dropNonFinite(contents, context);
    bounds = boundsOf(kept.positions)!;
  }
  toMillimeters(kept.positions, bounds, unit, name, warnings);
  const { positions, triangles, normals, colors } = kept;
  if (normals !== undefined && !contents.hasUnitNormals) makeUnit(normals);
  return {
    positions,
    ...(triangles && { triangles }),
    ...(normals && { normals }),
    ...(colors && { colors }),
  };
}

/** Drops points with a coordinate that is no number, and the triangles that name them, and says so. */
function dropNonFinite(contents: FileContents, { name, warnings }: ReadContext): FinishedArrays {
  const { positions, triangles, normals, colors } = contents;
  const points = positions.length / 3;
  const place = new Uint32Array(points);
  let kept = 0;
  for (let v = 0; v < points; v++) {
    const finite =
      Number.isFinite(positions[3 * v]) &&
      Number.isFinite(positions[3 * v + 1]) &&
      Number.isFinite(positions[3 * v + 2]);
    place[v] = finite ? ++kept : 0;
  }
  if (kept === 0) {
    throw refusal(
      name,
      'not-finite',
      `no point has three coordinates that are numbers (${counted(points, 'point')} read). Export it again.`,
    );
  }
  const pack = <A extends Float64Array | Float32Array | Uint8Array>(from: A, to: A): A => {
    for (let v = 0; v < points; v++) {
      if (place[v] === 0) continue;
      for (let k = 0; k < 3; k++) to[3 * (place[v] - 1) + k] = from[3 * v + k];
    }
    return to;
  };
  let lost = 0;
  let whole: Uint32Array | undefined;
  if (triangles !== undefined) {
    let at = 0;
    for (let t = 0; t < triangles.length; t += 3) {
      const a = place[triangles[t]];
      const b = place[triangles[t + 1]];
      const c = place[triangles[t + 2]];
      if (a === 0 || b === 0 || c === 0) continue;
      triangles[at++] = a - 1;
      triangles[at++] = b - 1;
      triangles[at++] = c - 1;
    }
    lost = (triangles.length - at) / 3;
    whole = triangles.slice(0, at);
  }
  const and = lost > 0 ? ` and ${counted(lost, 'triangle')} naming them` : '';
  warnings.push({
    code: 'not-finite',
    message: `${name}: ${counted(points - kept, 'point')} with a coordinate that is no number${and} dropped.`,
  });
  return {
    positions: pack(positions, new Float64Array(3 * kept)),
    ...(whole && { triangles: whole }),
    ...(normals && { normals: pack(normals, new Float32Array(3 * kept)) }),
    ...(colors && { colors: pack(colors, new Uint8Array(3 * kept)) }),
  };
}

/** [least x, y, z, greatest x, y, z], or undefined where a coordinate is no number. */
function boundsOf(positions: Float64Array, known?: RunningBounds): Float64Array | undefined {
  const bounds = known ?? new RunningBounds();
  if (known === undefined) bounds.widen(positions, 0, positions.length);
  return bounds.hasNoNumber ? undefined : bounds.values;
}

/** Diagonals of bounds, mm, beyond which nothing is believed to be scanned. */
const LEAST = 1;
const MOST = 50_000;

/** Scales to mm, and says so where the extent is hard to believe. */
function toMillimeters(
  positions: Float64Array,
  bounds: Float64Array,
  unit: LengthUnit,
  name: string,
  warnings: Warning[],
): void {
  const scale = millimetersIn[unit];
  const reach = bounds.map((c) => c * scale);
  const sides = [0, 1, 2].map((k) => reach[k + 3] - reach[k]);
  if (![...reach, Math.hypot(...sides)].every(Number.isFinite)) {
    throw refusal(
      name,
      'too-far',
      `coordinates so large, read in ${unit}, that lengths between them overflow. Export it again.`,
    );
  }
  if (scale !== 1) for (let i = 0; i < positions.length; i++) positions[i] *= scale;
  // Readers serve other files than scans of machines, too: they warn where nothing at all is of that size.
  const doubt =
    Math.hypot(...sides) < LEAST || Math.hypot(...sides) > MOST ? doubtfulSize(name, sides, unit) : undefined;
  if (doubt) warnings.push(doubt);
}
