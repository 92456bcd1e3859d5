import { FettleError } from '../error.js';
import type { Feature, Point } from '../feature/feature.js';
import { axisOf, centerOf, planeOf, type WithAxis, type WithCenter, type WithPlane } from '../feature/roles.js';
import { addScaled, dot, subtract, type Vec3 } from '../math/vec3.js';
import { withArticle } from '../text/in-words.js';
import { type Constructed, constructed } from './constructed.js';

/** The foot of a position on a plane. */
export const footOnPlane = (position: Vec3, plane: { readonly point: Vec3; readonly normal: Vec3 }): Vec3 =>
  addScaled(position, plane.normal, -dot(plane.normal, subtract(position, plane.point)));

/** The foot of a position on a line. */
export const footOnLine = (position: Vec3, line: { readonly point: Vec3; readonly direction: Vec3 }): Vec3 =>
  addScaled(line.point, line.direction, dot(line.direction, subtract(position, line.point)));

/** The point of a plane nearest to a point or center. */
export const projectOnPlane = (point: WithCenter, plane: WithPlane): Constructed<Point> =>
  constructed({ kind: 'point', position: footOnPlane(centerOf(point).position, planeOf(plane)) });

/** The point of a line or axis nearest to a point or center. */
export const projectOnLine = (point: WithCenter, line: WithAxis): Constructed<Point> =>
  constructed({ kind: 'point', position: footOnLine(centerOf(point).position, axisOf(line)) });

/**
 * The point of a plane, line or axis nearest to a point or center.
 *
 * @throws FettleError `wrong-kind`
 */
export function project(point: Feature, onto: Feature): Constructed<Point> {
  const center = centerOf(point);
  switch (onto.kind) {
    case 'plane':
      return projectOnPlane(center, onto);
    case 'line':
    case 'cylinder':
    case 'cone':
      return projectOnLine(center, onto);
    default:
      throw new FettleError(
        'wrong-kind',
        `Project onto a plane, a line or an axis, not onto ${withArticle(onto.kind)}.`,
      );
  }
}
