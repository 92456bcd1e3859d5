import { footOnLine, footOnPlane } from '../construct/project.js';
import { FettleError } from '../error.js';
import type { Plane } from '../feature/feature.js';
import { axisOf, type WithAxis } from '../feature/roles.js';
import type { Frame } from '../math/frame.js';
import { dot, negate, normalize, subtract, type Vec3 } from '../math/vec3.js';
import { degreesInWords } from '../text/in-words.js';
import { extremes } from './extremes.js';
import { heightsAbove, type Toleranced } from './toleranced.js';
import { diameterTo, pointOf, type Surface, type Zone, type ZoneOptions } from './zone.js';

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
 * Position (ISO 1101) in a datum frame: the cylinder (of a center without `along`: the ball) about the place a feature should
 * have, or the slab about the place a face should have, that holds it. Its diameter or width is twice the largest distance.
 *
 * @throws FettleError `wrong-way` when no axis of the frame runs within 30° of the feature
 */
export function position(t: Toleranced, frame: Frame, nominal: Nominal, options: ZoneOptions = {}): Zone {
  const place = frame.toScan(nominal.at);
  if (t.kind === 'center') {
    const { along } = nominal;
    const from = along === undefined ? place : footOnLine(t.position, { point: place, direction: frame[along] });
    return diameterTo([{ from, to: t.position }]);
  }
  const own = t.kind === 'surface' ? t.plane.normal : normalize(subtract(t.to, t.from));
  const direction = frame[nominalAxis(own, frame, nominal)];
  if (t.kind === 'surface') return slabAbout(t, { point: place, normal: direction }, options);
  return aboutLine([t.from, t.to], { point: place, direction });
}

/**
 * The axis of a frame a feature should follow.
 *
 * @param own its normal or axis
 * @throws FettleError `wrong-way` when that axis is more than 30° off
 */
export function nominalAxis(own: Vec3, frame: Frame, { along }: Nominal): 'x' | 'y' | 'z' {
  const agreement = (axis: 'x' | 'y' | 'z') => Math.abs(dot(own, frame[axis]));
  const axis = along ?? (['x', 'y', 'z'] as const).reduce((best, a) => (agreement(a) > agreement(best) ? a : best));
  const off = Math.acos(Math.min(1, agreement(axis)));
  if (off > astray)
    throw new FettleError(
      'wrong-way',
      `The feature runs ${degreesInWords(off)} off the ${axis} axis of the frame: which axis should it follow?`,
    );
  return axis;
}

const aboutLine = (places: readonly Vec3[], line: { readonly point: Vec3; readonly direction: Vec3 }): Zone =>
  diameterTo(places.map((to) => ({ from: footOnLine(to, line), to })));

/** A slab about a plane that holds a surface: twice the largest distance from it. */
const slabAbout = ({ points }: Surface, { point, normal }: Omit<Plane, 'kind'>, options: ZoneOptions): Zone =>
  slab(heightsAbove(points, point, normal), normal, options, (i) => pointOf(points, i));

function slab(heights: Float64Array, normal: Vec3, { trim }: ZoneOptions, placeOf: (i: number) => Vec3): Zone {
  const { low, high, lowest, highest } = extremes(heights, trim);
  const isHigh = Math.abs(high) >= Math.abs(low);
  return {
    value: 2 * Math.max(Math.abs(low), Math.abs(high)),
    along: isHigh ? normal : negate(normal),
    deciding: [{ place: placeOf(isHigh ? highest : lowest), weight: 2 }],
  };
}

/**
 * Coaxiality (ISO 1101): the cylinder about the datum axis that holds the other axis over its length, or the other center. Its
 * diameter is twice the largest distance.
 *
 * @throws FettleError `wrong-kind` for a face
 */
export function coaxiality(t: Toleranced, datum: WithAxis): Zone {
  if (t.kind === 'surface')
    throw new FettleError('wrong-kind', 'A face has no coaxiality. Ask it of an axis or a center.');
  return aboutLine(t.kind === 'center' ? [t.position] : [t.from, t.to], axisOf(datum));
}

/**
 * Symmetry (ISO 1101) about a mid-plane: the slab about the datum plane that holds an axis over its length, a center, or the
 * middle between two faces where these were seen. Its width is twice the largest distance.
 *
 * @param t of two faces: their mid-plane as a surface, with the points of both
 */
export function symmetry(t: Toleranced, datum: Plane, options: ZoneOptions = {}): Zone {
  const onto = (to: Vec3) => ({ from: footOnPlane(to, datum), to });
  if (t.kind === 'center') return diameterTo([onto(t.position)]);
  if (t.kind === 'axis') return diameterTo([onto(t.from), onto(t.to)]);
  // The middle at each point is its foot on the mid-plane: so much lower than the point as the point is above that.
  const heights = heightsAbove(t.points, datum.point, datum.normal);
  const above = heightsAbove(t.points, t.plane.point, t.plane.normal);
  const agreement = dot(t.plane.normal, datum.normal);
  for (let i = 0; i < heights.length; i++) heights[i] -= agreement * above[i];
  return slab(heights, datum.normal, options, (i) => footOnPlane(pointOf(t.points, i), t.plane));
}
