import { FettleError, type Warning } from '../error.js';
import type { Feature, Line, Point } from '../feature/feature.js';
import { axisOf, planeOf, type WithAxis, type WithPlane } from '../feature/roles.js';
import { add, addScaled, cross, distance, dot, normalize, scale, subtract, type Vec3 } from '../math/vec3.js';
import { degreesInWords, together, withArticle } from '../text/in-words.js';
import { lengthText } from '../text/number-text.js';
import { acuteAngle, doubtfulAngle, refusedAngle } from './alignment.js';
import { type Constructed, constructed } from './constructed.js';

const point = (position: Vec3): Point => ({ kind: 'point', position });

const doubtful = (what: string, angle: number): Warning | undefined =>
  angle < doubtfulAngle
    ? {
        code: 'ill-conditioned',
        message: `${what} are only ${degreesInWords(angle)} apart: where they meet is ${Math.round(1 / Math.sin(angle))} times less certain than they are.`,
      }
    : undefined;

/**
 * The line where two planes meet. Its direction is the first normal crossed with the second; its point is the one on
 * it nearest to the middle between the planes' own points.
 *
 * @throws FettleError `parallel` when the planes are less than 0.01° apart; between that and 1° a warning `ill-conditioned`
 */
export function intersectPlanes(first: WithPlane, second: WithPlane): Constructed<Line> {
  const a = planeOf(first);
  const b = planeOf(second);
  const angle = acuteAngle(a.normal, b.normal);
  if (angle < refusedAngle)
    throw new FettleError(
      'parallel',
      `The two planes are parallel to within ${degreesInWords(angle)}: they meet in no line. Choose planes at an angle.`,
    );
  const c = cross(a.normal, b.normal);
  const c2 = dot(c, c);
  // From the middle of the planes' points, so that coordinates far from the origin lose no digits.
  const middle = scale(add(a.point, b.point), 0.5);
  const toA = dot(a.normal, subtract(a.point, middle));
  const toB = dot(b.normal, subtract(b.point, middle));
  const step = scale(add(scale(cross(b.normal, c), toA), scale(cross(c, a.normal), toB)), 1 / c2);
  return constructed(
    { kind: 'line', point: add(middle, step), direction: normalize(c) },
    doubtful('The two planes', angle),
  );
}

/**
 * The point where a line, or the axis of a circle, cylinder or cone, pierces a plane.
 *
 * @throws FettleError `parallel` when it runs at less than 0.01° to the plane; up to 1° a warning `ill-conditioned`
 */
export function intersectLinePlane(line: WithAxis, plane: WithPlane): Constructed<Point> {
  const l = axisOf(line);
  const p = planeOf(plane);
  const sine = dot(l.direction, p.normal);
  const angle = Math.PI / 2 - acuteAngle(l.direction, p.normal);
  const height = dot(p.normal, subtract(p.point, l.point));
  if (angle < refusedAngle)
    throw new FettleError(
      'parallel',
      `The line runs parallel to the plane to within ${degreesInWords(angle)}, ${lengthText(Math.abs(height))} off it: they meet in no point.`,
    );
  return constructed(point(addScaled(l.point, l.direction, height / sine)), doubtful('The line and the plane', angle));
}

/**
 * The point where three planes meet.
 *
 * @throws FettleError `parallel` when two of them are less than 0.01° apart, or the line of two runs at less than 0.01°
 * to the third; up to 1° a warning `ill-conditioned`
 */
export function intersectThreePlanes(first: WithPlane, second: WithPlane, third: WithPlane): Constructed<Point> {
  const planes = [planeOf(first), planeOf(second), planeOf(third)] as const;
  const names = ['first', 'second', 'third'];
  const pairs = [
    [0, 1, 2],
    [1, 2, 0],
    [2, 0, 1],
  ] as const;
  let best: readonly [number, number, number] = pairs[0];
  let widest = -1;
  for (const pair of pairs) {
    const angle = acuteAngle(planes[pair[0]].normal, planes[pair[1]].normal);
    if (angle < refusedAngle)
      throw new FettleError(
        'parallel',
        `The ${names[pair[0]]} and the ${names[pair[1]]} plane are parallel to within ${degreesInWords(angle)}: the three meet in no point.`,
      );
    if (angle > widest) {
      best = pair;
      widest = angle;
    }
  }
  // The line of the two planes most square to each other, cut by the remaining one.
  const [i, j, k] = best as readonly [0 | 1 | 2, 0 | 1 | 2, 0 | 1 | 2];
  const line = intersectPlanes(planes[i], planes[j]).feature;
  const lean = Math.PI / 2 - acuteAngle(line.direction, planes[k].normal);
  if (lean < refusedAngle)
    throw new FettleError(
      'parallel',
      `The line of the ${names[i]} and the ${names[j]} plane runs parallel to the ${names[k]} to within ${degreesInWords(lean)}: the three meet in no point.`,
    );
  const at = intersectLinePlane(line, planes[k]).feature;
  return constructed(at, doubtful(`The ${names[k]} plane and the line of the other two`, lean));
}

/**
 * The point where two lines or axes meet: midway on the shortest way from one to the other, as measured lines never meet
 * exactly.
 *
 * @throws FettleError `parallel` when they are less than 0.01° apart (up to 1° a warning `ill-conditioned`); `skew` when
 * they pass each other farther off than `within` (mm, default 1)
 */
export function intersectLines(first: WithAxis, second: WithAxis, { within = 1 } = {}): Constructed<Point> {
  const a = axisOf(first);
  const b = axisOf(second);
  const angle = acuteAngle(a.direction, b.direction);
  if (angle < refusedAngle)
    throw new FettleError(
      'parallel',
      `The two lines are parallel to within ${degreesInWords(angle)}: they meet in no point.`,
    );
  const [p, q] = closestApproach(a, b);
  const gap = distance(p, q);
  if (gap > within)
    throw new FettleError(
      'skew',
      `The two lines pass each other ${lengthText(gap)} apart, more than the ${lengthText(within)} allowed: they meet in no point.`,
    );
  return constructed(point(scale(add(p, q), 0.5)), doubtful('The two lines', angle));
}

/** The ends of the shortest way between two lines that are not parallel. */
export function closestApproach(a: Line, b: Line): readonly [onA: Vec3, onB: Vec3] {
  const c = cross(a.direction, b.direction);
  const c2 = dot(c, c);
  const between = subtract(b.point, a.point);
  return [
    addScaled(a.point, a.direction, dot(cross(between, b.direction), c) / c2),
    addScaled(b.point, b.direction, dot(cross(between, a.direction), c) / c2),
  ];
}

/**
 * Where features meet: two planes in a line; three planes, a plane and a line or axis, or two lines or axes in a point. A
 * circle enters by its axis.
 *
 * @throws FettleError `wrong-kind`, and what the construction itself throws
 */
export function intersect(features: readonly Feature[], options: { within?: number } = {}): Constructed<Line | Point> {
  const planes = features.filter((f) => f.kind === 'plane');
  const axes = features.filter((f) => f.kind !== 'plane').map(axisOf);
  if (planes.length === 3 && axes.length === 0) return intersectThreePlanes(planes[0]!, planes[1]!, planes[2]!);
  if (planes.length === 2 && axes.length === 0) return intersectPlanes(planes[0]!, planes[1]!);
  if (planes.length === 1 && axes.length === 1) return intersectLinePlane(axes[0]!, planes[0]!);
  if (planes.length === 0 && axes.length === 2) return intersectLines(axes[0]!, axes[1]!, options);
  throw new FettleError(
    'wrong-kind',
    `Two planes, three planes, a plane and an axis, or two axes meet; ${together(features.map((f) => withArticle(f.kind)))} do not.`,
  );
}
