import { degreesInWords } from '../construct/in-words.js';
import { footOnLine } from '../construct/project.js';
import { axisOf, type WithAxis } from '../construct/roles.js';
import { FettleError } from '../error.js';
import type { Plane } from '../feature/feature.js';
import type { Frame } from '../frame/frame.js';
import { distance, dot, normalize, subtract, type Vec3 } from '../math/vec3.js';
import { range } from './extremes.js';
import { heightsAbove, type Toleranced } from './toleranced.js';
import type { ZoneOptions } from './zone.js';

/** Where a feature should be. */
export interface Nominal {
  /** In the frame, mm. Of an axis: a point it should pass. Of a face: a point it should lie at. */
  readonly at: Vec3;
  /**
   * Axis of the frame a feature's axis should run along, or a face's normal point along. Of a center: seen along this axis only
   * (the zone is a cylinder). Absent: of an axis or a face the nearest one; of a center none (the zone is a ball).
   */
  readonly along?: 'x' | 'y' | 'z';
}

/** An axis of the frame more than this off a feature's direction is not the one it should have. */
const astray = Math.PI / 6;

/**
 * Position (ISO 1101) in a datum frame, mm: the diameter of the cylinder (of a center without `along`: the ball) about the place
 * a feature should have, or the width of the slab about the place a face should have, that holds it. Twice the largest distance.
 *
 * @throws FettleError `wrong-way` when no axis of the frame runs within 30° of the feature
 */
export function position(t: Toleranced, frame: Frame, nominal: Nominal, options: ZoneOptions = {}): number {
  const place = frame.toScan(nominal.at);
  if (t.kind === 'center') {
    if (nominal.along === undefined) return 2 * distance(t.position, place);
    return 2 * farthestFrom([t.position], { point: place, direction: frame[nominal.along] });
  }
  const own = t.kind === 'surface' ? t.plane.normal : normalize(subtract(t.to, t.from));
  const direction = nominalDirection(own, frame, nominal);
  if (t.kind === 'surface') {
    const [low, high] = range(heightsAbove(t.points, place, direction), options.trim);
    return 2 * Math.max(Math.abs(low), Math.abs(high));
  }
  return 2 * farthestFrom([t.from, t.to], { point: place, direction });
}

function nominalDirection(own: Vec3, frame: Frame, { along }: Nominal): Vec3 {
  const agreement = (axis: 'x' | 'y' | 'z') => Math.abs(dot(own, frame[axis]));
  const axis = along ?? (['x', 'y', 'z'] as const).reduce((best, a) => (agreement(a) > agreement(best) ? a : best));
  const off = Math.acos(Math.min(1, agreement(axis)));
  if (off > astray)
    throw new FettleError(
      'wrong-way',
      `The feature runs ${degreesInWords(off)} off the ${axis} axis of the frame: which axis should it follow?`,
    );
  return frame[axis];
}

const farthestFrom = (places: readonly Vec3[], line: { point: Vec3; direction: Vec3 }): number =>
  Math.max(...places.map((p) => distance(p, footOnLine(p, line))));

/**
 * Coaxiality (ISO 1101), mm: the diameter of the cylinder about the datum axis that holds the other axis over its length, or the
 * other center. Twice the largest distance.
 *
 * @throws FettleError `wrong-kind` for a face
 */
export function coaxiality(t: Toleranced, datum: WithAxis): number {
  const line = axisOf(datum);
  if (t.kind === 'surface')
    throw new FettleError('wrong-kind', 'A face has no coaxiality. Ask it of an axis or a center.');
  return 2 * farthestFrom(t.kind === 'center' ? [t.position] : [t.from, t.to], line);
}

/**
 * Symmetry (ISO 1101) about a mid-plane, mm: the width of the slab about the datum plane that holds an axis over its length, a
 * center, or the middle between two faces where these were seen. Twice the largest distance.
 *
 * @param t of two faces: their mid-plane as a surface, with the points of both
 */
export function symmetry(t: Toleranced, datum: Plane, options: ZoneOptions = {}): number {
  const off = (p: Vec3) => Math.abs(dot(datum.normal, subtract(p, datum.point)));
  if (t.kind === 'center') return 2 * off(t.position);
  if (t.kind === 'axis') return 2 * Math.max(off(t.from), off(t.to));
  // The middle at each point is its foot on the mid-plane.
  const { plane, points } = t;
  const heights = heightsAbove(points, datum.point, datum.normal);
  const above = heightsAbove(points, plane.point, plane.normal);
  const agreement = dot(plane.normal, datum.normal);
  for (let i = 0; i < heights.length; i++) heights[i] -= agreement * above[i];
  const [low, high] = range(heights, options.trim);
  return 2 * Math.max(Math.abs(low), Math.abs(high));
}
