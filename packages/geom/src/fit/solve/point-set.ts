import { FettleError } from '../../error.js';
import type { Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { countText } from '../../text/number-text.js';

/** The points of one fit, side by side in memory. */
export interface PointSet {
  /** xyz xyz …, mm. */
  readonly xyz: Float64Array;
  readonly count: number;
  /** Index of each point in the scan; absent: they are all its points. */
  readonly index?: Uint32Array;
  /** Of the scan's points, by their index there. */
  readonly normals?: Float32Array;
  /** Opens every message: `scan.ply: ` or nothing. */
  readonly prefix: string;
}

/**
 * Gather the points to fit a shape to.
 *
 * @throws FettleError `bad-points`, `points-length`, `normals-length`, `points-empty`, `points-index-range`, `too-few-points`
 */
export function gatherPoints(points: Points, what: string, least: number): PointSet {
  refuseNoPoints(points, what);
  const { positions, select, normals } = points;
  const prefix = 'name' in points && typeof points.name === 'string' ? `${points.name}: ` : '';
  if (positions.length % 3 !== 0)
    throw new FettleError(
      'points-length',
      `${prefix}${countText(positions.length)} coordinates are no whole number of points. Give x, y and z for each point.`,
    );
  const total = positions.length / 3;
  const count = select ? select.length : total;
  if (count === 0)
    throw new FettleError('points-empty', `${prefix}No points to fit a ${what} to. Choose a region that holds some.`);
  if (count < least)
    throw new FettleError(
      'too-few-points',
      `${prefix}A ${what} needs at least ${least} points and has ${countText(count)}. Choose a larger region.`,
    );
  if (normals !== undefined && normals.length !== positions.length)
    throw new FettleError(
      'normals-length',
      `${prefix}${countText(normals.length)} numbers are no normals of ${countText(total)} points: give x, y and z of one for each ` +
        'point of positions, selected or not, or leave them out.',
    );
  const set = { count, prefix, ...(normals && { normals }) };
  if (!select) return { ...set, xyz: positions };
  const xyz = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const s = select[i];
    if (s >= total) throw strayIndex(prefix, s, i, total);
    const p = 3 * s;
    const q = 3 * i;
    xyz[q] = positions[p];
    xyz[q + 1] = positions[p + 1];
    xyz[q + 2] = positions[p + 2];
  }
  return { ...set, xyz, index: select };
}

/** What a caller without type checks may hand over. */
function refuseNoPoints(points: Points, what: string): void {
  const give = 'Give a scan, or { positions } with x, y and z of each point in a Float64Array, mm';
  const refuse = (why: string, next: string): FettleError =>
    new FettleError('bad-points', `There is nothing to fit a ${what} to: ${why}. ${next}.`);
  if (typeof points !== 'object' || points === null) throw refuse(`the points are ${points}`, give);
  const { positions, select, normals } = points;
  if (!(positions instanceof Float64Array)) throw refuse(`positions is ${typeInWords(positions)}`, give);
  if (select !== undefined && !(select instanceof Uint32Array))
    throw refuse(`select is ${typeInWords(select)}`, 'Give the indices of the points in a Uint32Array');
  if (normals !== undefined && !(normals instanceof Float32Array || (normals as unknown) instanceof Float64Array))
    throw refuse(`normals is ${typeInWords(normals)}`, 'Give x, y and z of one for each point in a Float32Array');
}

const typeInWords = (value: unknown): string =>
  typeof value === 'object' && value !== null ? `of type ${value.constructor?.name ?? 'object'}` : String(value);

const strayIndex = (prefix: string, stray: number, place: number, total: number): FettleError =>
  new FettleError(
    'points-index-range',
    `${prefix}select names point ${countText(stray)} at place ${countText(place)}, but there are only points 0 to ` +
      `${countText(total - 1)}. Was it made for another scan?`,
  );

/** The points at `places`. */
export function subset(set: PointSet, places: Uint32Array): PointSet {
  const xyz = new Float64Array(3 * places.length);
  const index = new Uint32Array(places.length);
  for (let i = 0; i < places.length; i++) {
    const p = 3 * places[i];
    xyz[3 * i] = set.xyz[p];
    xyz[3 * i + 1] = set.xyz[p + 1];
    xyz[3 * i + 2] = set.xyz[p + 2];
    index[i] = set.index ? set.index[places[i]] : places[i];
  }
  return { ...set, xyz, count: places.length, index };
}

/** xyz of the point at one place. */
export const pointAt = ({ xyz }: PointSet, place: number): Vec3 => [
  xyz[3 * place],
  xyz[3 * place + 1],
  xyz[3 * place + 2],
];

/** An error that names the point with the largest coordinate. */
export const tooLarge = (set: PointSet, place: number, limit: number): FettleError =>
  new FettleError(
    'points-too-large',
    `${set.prefix}Point ${countText(set.index ? set.index[place] : place)} (${pointAt(set, place).join(', ')}) lies beyond ` +
      `${countText(limit)} mm. Coordinates are in mm: read the scan with the units it was written in, or move it nearer to zero.`,
  );

/** An error that names the first point whose coordinates are not finite. */
export function notFinite(set: PointSet): FettleError {
  const { xyz, index, prefix } = set;
  let bad = 0;
  let first = 0;
  for (let i = 0; i < 3 * set.count; i += 3) {
    if (Number.isFinite(xyz[i]) && Number.isFinite(xyz[i + 1]) && Number.isFinite(xyz[i + 2])) continue;
    if (bad++ === 0) first = i / 3;
  }
  return new FettleError(
    'points-not-finite',
    `${prefix}${countText(bad)} of ${countText(set.count)} points ${bad === 1 ? 'has a coordinate' : 'have coordinates'} that ` +
      `${bad === 1 ? 'is' : 'are'} not finite, the first is point ${countText(index ? index[first] : first)} ` +
      `(${pointAt(set, first).join(', ')}). Leave such points out.`,
  );
}
