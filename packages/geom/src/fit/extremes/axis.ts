import type { Cylinder, Line } from '../../feature/feature.js';
import { add, addScaled, dot, length, scale, subtract, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type CriterionOptions, demandPoints } from './association.js';
import { centroidOf, localCloud, trimCloud } from './cloud.js';
import { type Exchanged, exchange } from './exchange.js';
import { aboutAxis, poseAt } from './round-shape.js';
import type { Sides } from './trim.js';

export interface AxisFound extends Omit<Exchanged, 'pose'> {
  readonly point: Vec3;
  readonly direction: Vec3;
  readonly trim: number;
  readonly trimmed: Uint32Array;
  /** The farthest the axis moved from the start's, abreast of the points, mm. */
  readonly moved: number;
}

/**
 * An axis placed by the extremes of the points about it. The axis of `start` is where the search begins; its point
 * moves along to abreast of the points' centroid.
 *
 * @param limit how far the axis may move in one pass, mm
 * @param least points needed
 */
export function axisByExtremes(
  points: Points,
  { start, trim = 0 }: CriterionOptions<Line | Cylinder>,
  sides: Sides,
  limit: number,
  least: number,
  what: string,
): AxisFound {
  const centroid = centroidOf(points);
  const origin = addScaled(start.point, start.direction, dot(subtract(centroid, start.point), start.direction));
  const { u, v, w } = poseAt(origin, start.direction);
  const { kept, trimmed } = trimCloud(localCloud(points, origin, [u, v, w]), (x, y) => Math.hypot(x, y), trim, sides);
  demandPoints(kept.count, least, what);
  let reach = 0;
  for (let k = 2; k < kept.xyz.length; k += 3) reach = Math.max(reach, Math.abs(kept.xyz[k]));
  const shape = aboutAxis(reach > 0 ? reach : 1);
  const { pose, ...found } = exchange(kept, shape, sides, poseAt([0, 0, 0], [0, 0, 1]), limit);
  const inSpace = (p: Vec3): Vec3 => add(addScaled(scale(u, p[0]), v, p[1]), scale(w, p[2]));
  const moved = length(pose.origin) + reach * Math.hypot(pose.w[0], pose.w[1]);
  return { ...found, moved, point: add(origin, inSpace(pose.origin)), direction: inSpace(pose.w), trim, trimmed };
}
