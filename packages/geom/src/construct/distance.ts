import { FettleError, type Warning } from '../error.js';
import type { Feature, Line, Plane } from '../feature/feature.js';
import { axisOf, centerOf, planeOf, type WithAxis, type WithCenter, type WithPlane } from '../feature/roles.js';
import { addScaled, distance, dot, subtract, type Vec3 } from '../math/vec3.js';
import { degreesInWords } from '../text/in-words.js';
import { lengthText } from '../text/number-text.js';
import { acuteAngle, doubtfulAngle, notParallelAngle, slopingAngle } from './alignment.js';
import { demandFinite } from './finite.js';
import { closestApproach } from './intersect.js';
import { footOnLine, footOnPlane } from './project.js';

/** A distance and where it was taken. */
export interface Distance {
  /** mm; signed where a plane is involved: positive on the side the (first) plane's normal points to. */
  readonly value: number;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly warnings: readonly Warning[];
}

const sloping = (what: string, angle: number): readonly Warning[] =>
  angle > slopingAngle
    ? [
        {
          code: 'not-parallel',
          message: `${what} are ${degreesInWords(angle)} from parallel: the distance changes by ${lengthText(100 * Math.tan(angle))} over 100 mm, and holds where it was taken.`,
        },
      ]
    : [];

function refuseUnlessParallel(what: string, angle: number): void {
  if (angle > notParallelAngle)
    throw new FettleError(
      'not-parallel',
      `${what} are ${degreesInWords(angle)} from parallel: they have no one distance. Measure from a point, or intersect them.`,
    );
}

/** From one point or center to another. */
export function pointPointDistance(first: WithCenter, second: WithCenter): Distance {
  const from = centerOf(first).position;
  const to = centerOf(second).position;
  return { value: distance(from, to), from, to, warnings: [] };
}

/** From a plane to a point or center, signed. */
export function pointPlaneDistance(point: WithCenter, plane: WithPlane): Distance {
  const to = centerOf(point).position;
  const { point: on, normal } = planeOf(plane);
  return { value: dot(normal, subtract(to, on)), from: footOnPlane(to, { point: on, normal }), to, warnings: [] };
}

/** From a line or axis to a point or center. */
export function pointLineDistance(point: WithCenter, line: WithAxis): Distance {
  const to = centerOf(point).position;
  const from = footOnLine(to, axisOf(line));
  return { value: distance(from, to), from, to, warnings: [] };
}

/**
 * Between two lines or axes, with its ends. When they are within 1° of parallel the shortest way may lie far from both
 * parts: then the distance is taken square to the first line at the second's own point.
 */
export function lineLineDistance(first: WithAxis, second: WithAxis): Distance {
  const a = axisOf(first);
  const b = axisOf(second);
  const angle = acuteAngle(a.direction, b.direction);
  if (angle < doubtfulAngle) {
    const from = footOnLine(b.point, a);
    return { value: distance(from, b.point), from, to: b.point, warnings: sloping('The two lines', angle) };
  }
  const [from, to] = closestApproach(a, b);
  return { value: distance(from, to), from, to, warnings: [] };
}

/**
 * From a plane to a line or axis that runs nearly parallel to it, signed, at the line's own point.
 *
 * @throws FettleError `not-parallel` past 15°; past 0.2° a warning of the same code says how much it matters
 */
export function linePlaneDistance(line: WithAxis, plane: WithPlane): Distance {
  const { point: to, direction }: Line = axisOf(line);
  const p: Plane = planeOf(plane);
  const angle = Math.PI / 2 - acuteAngle(direction, p.normal);
  refuseUnlessParallel('The line and the plane', angle);
  return {
    value: dot(p.normal, subtract(to, p.point)),
    from: footOnPlane(to, p),
    to,
    warnings: sloping('The line and the plane', angle),
  };
}

/**
 * From one plane to another nearly parallel to it, along the first's normal, signed. Taken at `at` (default: the second
 * plane's own point, the middle of what was measured).
 *
 * @throws FettleError `not-parallel` past 15°; past 0.2° a warning of the same code says how much it matters
 */
export function planePlaneDistance(first: WithPlane, second: WithPlane, { at }: { at?: Vec3 } = {}): Distance {
  const a = planeOf(first);
  const b = planeOf(second);
  const angle = acuteAngle(a.normal, b.normal);
  refuseUnlessParallel('The two planes', angle);
  const from = footOnPlane(at ?? b.point, a);
  const value = dot(b.normal, subtract(b.point, from)) / dot(b.normal, a.normal);
  return { value, from, to: addScaled(from, a.normal, value), warnings: sloping('The two planes', angle) };
}

type Place = 'plane' | 'axis' | 'center';

/** As what a feature enters a distance: a circle and a sphere by the center, a cylinder and a cone by the axis. */
const placeOf = (feature: Feature): Place =>
  feature.kind === 'plane'
    ? 'plane'
    : feature.kind === 'line' || feature.kind === 'cylinder' || feature.kind === 'cone'
      ? 'axis'
      : 'center';

/**
 * The distance between two features: circles and spheres enter by their centers, cylinders and cones by their axes. `at`
 * tells where to take it between two planes.
 *
 * @throws FettleError `not-parallel`, `not-finite`
 */
export function distanceOf(first: Feature, second: Feature, options: { at?: Vec3 } = {}): Distance {
  const taken = distanceBetween(first, second, options);
  demandFinite('The distance', [taken.value]);
  return taken;
}

function distanceBetween(first: Feature, second: Feature, options: { at?: Vec3 }): Distance {
  const turned = (d: Distance): Distance => ({ ...d, from: d.to, to: d.from });
  const a = first as WithPlane & WithAxis & WithCenter;
  const b = second as WithPlane & WithAxis & WithCenter;
  switch (`${placeOf(first)} ${placeOf(second)}` as const) {
    case 'center center':
      return pointPointDistance(a, b);
    case 'center axis':
      return turned(pointLineDistance(a, b));
    case 'axis center':
      return pointLineDistance(b, a);
    case 'center plane':
      return turned(pointPlaneDistance(a, b));
    case 'plane center':
      return pointPlaneDistance(b, a);
    case 'axis axis':
      return lineLineDistance(a, b);
    case 'axis plane':
      return turned(linePlaneDistance(a, b));
    case 'plane axis':
      return linePlaneDistance(b, a);
    case 'plane plane':
      return planePlaneDistance(a, b, options);
  }
}
