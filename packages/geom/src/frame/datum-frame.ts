import { acuteAngle, doubtfulAngle, refusedAngle } from '../construct/alignment.js';
import { demandFinite } from '../construct/finite.js';
import { intersectLinePlane, intersectPlanes, intersectThreePlanes } from '../construct/intersect.js';
import { footOnLine, footOnPlane } from '../construct/project.js';
import { FettleError, type Warning } from '../error.js';
import type { Line, Plane } from '../feature/feature.js';
import { axisOf, centerOf, planeOf, type WithAxis, type WithCenter, type WithPlane } from '../feature/roles.js';
import { type Frame, frameOf } from '../math/frame.js';
import { addScaled, cross, distance, dot, normalize, scale, subtract, type Vec3 } from '../math/vec3.js';
import { degreesInWords } from '../text/in-words.js';
import { lengthText } from '../text/number-text.js';

/** An axis of a frame with the way it points. */
export type SignedAxis = 'x' | 'y' | 'z' | '-x' | '-y' | '-z';

/** Which axis the normal of the (primary) plane points along, and which the line. Two different ones. */
export interface AxisChoice {
  readonly plane: SignedAxis;
  readonly line: SignedAxis;
}

export interface PlaneLinePoint {
  /** Primary datum. */
  readonly plane: WithPlane;
  /** Secondary datum. Of a plane: the line where it meets the primary one, along the primary normal × its own. */
  readonly line: WithAxis | Plane;
  /** A point, a center, or an axis that pierces the plane. */
  readonly origin: WithCenter | WithAxis | Vec3;
  /** Default `{ plane: 'z', line: 'x' }`. */
  readonly plus?: AxisChoice;
}

export interface ThreePlanes {
  /**
   * Primary, secondary, tertiary datum. The line is where the first two meet, pointing to the side the third's normal
   * points to; the origin is where all three meet.
   */
  readonly planes: readonly [primary: WithPlane, secondary: WithPlane, tertiary: WithPlane];
  readonly plus?: AxisChoice;
}

/** How far the datums were from agreeing. */
export interface Disagreement {
  /** Between the line and the plane, radians: the line was turned by this to lie in the plane. */
  readonly angle: number;
  /** Of the line from the plane where it passes the origin, mm; positive on the normal's side. */
  readonly distance: number;
  /** Of the point given for the origin from the plane, mm; positive on the normal's side. */
  readonly originOffPlane: number;
  /** Of the origin from the line laid onto the plane, mm. */
  readonly originOffLine: number;
}

/** A datum frame (ISO 5459), with how its datums agreed. */
export interface DatumFrame extends Frame {
  readonly disagreement: Disagreement;
  /** Of three planes: between each two, radians in [0, π/2]; π/2 when square. */
  readonly angles?: {
    readonly primarySecondary: number;
    readonly primaryTertiary: number;
    readonly secondaryTertiary: number;
  };
  readonly warnings: readonly Warning[];
}

const axisNames = ['x', 'y', 'z'] as const;

/** The frame whose `plus.plane` axis is the normal and whose `plus.line` axis is the direction, both given exactly. */
function oriented(origin: Vec3, normal: Vec3, direction: Vec3, plus: AxisChoice): Frame {
  const index = (axis: SignedAxis): number => axisNames.indexOf(axis.at(-1) as 'x');
  const sign = (axis: SignedAxis): number => (axis.length === 2 ? -1 : 1);
  const p = index(plus.plane);
  const l = index(plus.line);
  if (p < 0 || l < 0 || p === l)
    throw new FettleError(
      'axes',
      `The plane was given the ${plus.plane} axis and the line the ${plus.line} axis: they need two different ones of x, y, z, each with or without a minus.`,
    );
  const axes: Vec3[] = [];
  axes[p] = scale(normal, sign(plus.plane));
  axes[l] = scale(direction, sign(plus.line));
  // The third axis is the one before it crossed with the one after it, in the order x y z x y.
  const third = 3 - p - l;
  axes[third] = cross(axes[(third + 1) % 3]!, axes[(third + 2) % 3]!);
  return frameOf(origin, axes[0]!, axes[1]!);
}

/** A place taken from a datum, and what was doubtful about it. */
interface Taken<T> {
  readonly place: T;
  readonly warnings: readonly Warning[];
}

function originOf(origin: PlaneLinePoint['origin'], plane: Plane): Taken<Vec3> {
  if (!('kind' in origin)) return { place: origin, warnings: [] };
  if (origin.kind !== 'line' && origin.kind !== 'cylinder') return { place: centerOf(origin).position, warnings: [] };
  const { feature, warnings } = intersectLinePlane(origin, plane);
  return { place: feature.position, warnings };
}

function lineOf(line: PlaneLinePoint['line'], plane: Plane): Taken<Line> {
  if (line.kind !== 'plane') return { place: axisOf(line), warnings: [] };
  const { feature, warnings } = intersectPlanes(plane, line);
  return { place: feature, warnings };
}

function fromPlaneLinePoint(plane: Plane, line: Line, given: Vec3, plus: AxisChoice): DatumFrame {
  const lean = Math.PI / 2 - acuteAngle(line.direction, plane.normal);
  if (Math.PI / 2 - lean < refusedAngle)
    throw new FettleError(
      'line-square-to-plane',
      `The line stands square on the plane to within ${degreesInWords(Math.PI / 2 - lean)}: laid into it, it has no direction. Choose a line that runs along the plane.`,
    );
  const across = dot(line.direction, plane.normal);
  const direction = normalize(addScaled(line.direction, plane.normal, -across));
  const origin = footOnPlane(given, plane);
  const passing = footOnLine(origin, line);
  const laid = { point: footOnPlane(passing, plane), direction };
  const disagreement: Disagreement = {
    angle: lean,
    distance: dot(plane.normal, subtract(passing, plane.point)),
    originOffPlane: dot(plane.normal, subtract(given, plane.point)),
    originOffLine: distance(origin, footOnLine(origin, laid)),
  };
  const warnings: Warning[] = [];
  if (lean > doubtfulAngle)
    warnings.push({
      code: 'line-leans',
      message: `The line leans ${degreesInWords(lean)} out of the plane, ${lengthText(100 * Math.tan(lean))} over 100 mm: it was laid into the plane. Is it the right line?`,
    });
  const frame = oriented(origin, plane.normal, direction, plus);
  demandFinite('The datum frame', [...frame.origin, ...frame.x, ...frame.y]);
  return Object.freeze({ ...frame, disagreement, warnings });
}

/**
 * A datum frame from a plane, a line and a point, or from three planes, in the order of precedence of ISO 5459.
 *
 * The primary plane fixes its axis exactly and has coordinate 0 on it. The line's direction, laid into the plane, fixes
 * the second axis; the third follows by the right hand. The origin is the given point laid onto the plane. Line and point
 * need not lie in the plane, nor the point on the line, nor the three planes be square: how far they were from it is
 * returned.
 *
 * @throws FettleError `axes` when both get the same axis; `line-square-to-plane` when the line has no direction in the
 * plane; `parallel` when planes meet in no line or point; `not-finite`
 */
export function datumFrame(datums: PlaneLinePoint | ThreePlanes): DatumFrame {
  const plus = datums.plus ?? { plane: 'z', line: 'x' };
  if ('plane' in datums) {
    if (!datums.plane || !datums.line || !datums.origin)
      throw new FettleError(
        'datums-missing',
        'A datum frame needs a plane, a line and an origin, or three planes: give all of { plane, line, origin }, or { planes }.',
      );
    const plane = planeOf(datums.plane);
    const line = lineOf(datums.line, plane);
    const origin = originOf(datums.origin, plane);
    const frame = fromPlaneLinePoint(plane, line.place, origin.place, plus);
    return Object.freeze({ ...frame, warnings: [...line.warnings, ...origin.warnings, ...frame.warnings] });
  }
  const [primary, secondary, tertiary] = datums.planes.map(planeOf) as [Plane, Plane, Plane];
  const meeting = intersectPlanes(primary, secondary);
  const corner = intersectThreePlanes(primary, secondary, tertiary);
  const along = dot(meeting.feature.direction, tertiary.normal) < 0 ? -1 : 1;
  const line: Line = { ...meeting.feature, direction: scale(meeting.feature.direction, along) };
  const frame = fromPlaneLinePoint(primary, line, corner.feature.position, plus);
  return Object.freeze({
    ...frame,
    angles: {
      primarySecondary: acuteAngle(primary.normal, secondary.normal),
      primaryTertiary: acuteAngle(primary.normal, tertiary.normal),
      secondaryTertiary: acuteAngle(secondary.normal, tertiary.normal),
    },
    warnings: [...meeting.warnings, ...corner.warnings, ...frame.warnings],
  });
}
