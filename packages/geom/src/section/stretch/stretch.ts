import { FettleError, type Warning } from '../../error.js';
import { type Frame, scanFrame } from '../../math/frame.js';
import type { Vec2 } from '../../math/vec2.js';
import { dot, subtract, type Vec3 } from '../../math/vec3.js';
import type { Bounds } from '../../scan/scan.js';
import { lengthText } from '../../text/number-text.js';
import type { Section } from '../section.js';
import { type Course, courseOf, nearestAlong, placesAlong } from './resample.js';

/** The stretch of one polyline between its points nearest to two picks. */
export interface StretchBetween {
  /** In scan axes. */
  readonly from: Vec3;
  readonly to: Vec3;
  /** Around a closed polyline: the longer way instead of the shorter. */
  readonly long?: boolean;
  /** Place in the section's list. Default: the polyline the two picks are nearest to together. */
  readonly polyline?: number;
}

/** The parts of a section inside a box along its flat axes, or along the axes of the scan or a frame. */
export interface StretchInBox {
  readonly box: Bounds | { readonly min: Vec2; readonly max: Vec2 };
  readonly frame?: Frame;
}

/** The parts of a section inside a circle in its flat axes, or a sphere in the axes of the scan or a frame. */
export interface StretchWithin {
  readonly within: { readonly center: Vec2 | Vec3; readonly radius: number };
  readonly frame?: Frame;
}

export type Stretch = StretchBetween | StretchInBox | StretchWithin;

export interface StretchPoints {
  /** xyz xyz …, in scan axes, on the section. */
  readonly points: Float64Array;
  readonly warnings: readonly Warning[];
}

/**
 * The points of a stretch of a section: where it crosses the edges of the mesh, each once, so they are dense where triangles are
 * small. With `every` they are places that far apart along it instead, as {@link placesAlong} has them. A stretch between two
 * picks that holds fewer than three crossings comes with its two ends. Of a cloud's section they are its projected points.
 *
 * @throws FettleError `stretch-empty` if there are no points, `stretch-cloud` for picks on the section of a cloud, which has no
 * order, `stretch-polyline` for a polyline that is not there, `stretch-every` for a distance that is not above 0.
 */
export function stretchPoints(section: Section, stretch: Stretch, every?: number): StretchPoints {
  if (every !== undefined && !(every > 0))
    throw new FettleError('stretch-every', `Places every ${every} mm cannot be had. Give a distance above 0.`);
  if ('from' in stretch) return between(section, stretch, every);
  const off = 'box' in stretch ? offBox(section, stretch) : offRound(section, stretch);
  return inside(candidates(section, every), off, 'box' in stretch ? 'the box' : 'the circle');
}

function between(
  section: Section,
  { from, to, long = false, polyline }: StretchBetween,
  every?: number,
): StretchPoints {
  const { polylines } = section;
  if (polylines.length === 0)
    throw new FettleError(
      'stretch-cloud',
      'The section of a cloud has no order in which to go from one point to another. Choose its points by a box or a circle.',
    );
  if (polyline !== undefined && polylines[polyline] === undefined)
    throw new FettleError(
      'stretch-polyline',
      `The section has polylines 0 to ${polylines.length - 1}, not ${polyline}.`,
    );
  const courses = polyline === undefined ? polylines.map(courseOf) : [courseOf(polylines[polyline])];
  let course = courses[0];
  let start = nearestAlong(course, from);
  let end = nearestAlong(course, to);
  for (const other of courses.slice(1)) {
    const a = nearestAlong(other, from);
    const b = nearestAlong(other, to);
    if (a.distance ** 2 + b.distance ** 2 >= start.distance ** 2 + end.distance ** 2) continue;
    [course, start, end] = [other, a, b];
  }
  const { first, length } = wayBetween(course, start.way, end.way, long);
  if (!(length > 0))
    throw new FettleError(
      'stretch-empty',
      'Both picks are nearest to the same place of the section: there is no stretch between them. Pick two places on it.',
    );
  const points = every === undefined ? crossings(course, first, length) : placesAlong(course, first, length, every);
  return { points, warnings: farPicks(start.distance, end.distance, length) };
}

/** The stretch between two places along a polyline: its beginning and length, mm along it. */
export function wayBetween(
  course: Course,
  start: number,
  end: number,
  long: boolean,
): { readonly first: number; readonly length: number } {
  const first = Math.min(start, end);
  const length = Math.abs(end - start);
  return course.polyline.closed && length > course.length / 2 !== long
    ? { first: first + length, length: course.length - length }
    : { first, length };
}

/** The polyline's own points on a stretch; with its ends, where there are fewer than three. */
function crossings(course: Course, first: number, length: number): Float64Array {
  const { polyline, along } = course;
  const count = polyline.points.length / 3;
  const found: number[] = [];
  for (let i = 0; i < count; i++) {
    const way = (along[i] - first + 2 * course.length) % course.length;
    if (polyline.closed ? way <= length : along[i] >= first && along[i] <= first + length) found.push(i);
  }
  if (found.length < 3) return withEnds(course, first, length, found);
  return Float64Array.from(found.flatMap((i) => Array.from(polyline.points.subarray(3 * i, 3 * i + 3))));
}

function withEnds(course: Course, first: number, length: number, found: readonly number[]): Float64Array {
  const ends = placesAlong(course, first, length, length);
  const places = [
    ends.subarray(0, 3),
    ...found.map((i) => course.polyline.points.subarray(3 * i, 3 * i + 3)),
    ends.subarray(3),
  ];
  return Float64Array.from(
    places.filter((p, i) => places.findIndex((q) => q.every((c, k) => c === p[k])) === i).flatMap((p) => Array.from(p)),
  );
}

function farPicks(from: number, to: number, length: number): Warning[] {
  const far = Math.max(from, to);
  if (far <= length / 10) return [];
  const message =
    `A pick lies ${lengthText(far)} from the section, and the stretch between the picks is ${lengthText(length)} long. ` +
    'Pick nearer to the section to be sure of the stretch.';
  return [{ code: 'stretch-pick-far', message }];
}

/** All points of a section that a box or circle may choose from. */
function candidates(section: Section, every?: number): Float64Array {
  if (section.points) return section.points;
  const lists = section.polylines.map((polyline) => {
    if (every === undefined) return polyline.points;
    const course = courseOf(polyline);
    return placesAlong(course, 0, course.length, every);
  });
  const all = new Float64Array(lists.reduce((sum, list) => sum + list.length, 0));
  let filled = 0;
  for (const list of lists) {
    all.set(list, filled);
    filled += list.length;
  }
  return all;
}

/** How far a place in scan axes is outside a choice, mm; 0 inside. */
type Off = (place: Vec3) => number;

function inside(points: Float64Array, off: Off, what: string): StretchPoints {
  const chosen: number[] = [];
  let least = Infinity;
  for (let i = 0; i < points.length; i += 3) {
    const by = off([points[i], points[i + 1], points[i + 2]]);
    least = Math.min(least, by);
    if (by === 0) chosen.push(points[i], points[i + 1], points[i + 2]);
  }
  if (chosen.length > 0) return { points: Float64Array.from(chosen), warnings: [] };
  throw new FettleError(
    'stretch-empty',
    `${what[0].toUpperCase()}${what.slice(1)} holds no point of the section: the nearest is ${lengthText(least)} outside. ` +
      `Move ${what} or make it larger, or take places along the section every so many mm.`,
  );
}

function offBox(section: Section, { box, frame = scanFrame }: StretchInBox): Off {
  const { min, max } = box;
  return (place) => {
    const p = min.length === 2 ? flat(section, place) : frame.toFrame(place);
    return Math.hypot(...min.map((low, k) => Math.max(low - p[k], 0, p[k] - max[k])));
  };
}

function offRound(section: Section, { within, frame = scanFrame }: StretchWithin): Off {
  const { center, radius } = within;
  return (place) => {
    const p = center.length === 2 ? flat(section, place) : frame.toFrame(place);
    return Math.max(0, Math.hypot(...center.map((c, k) => c - p[k])) - radius);
  };
}

const flat = ({ origin, x, y }: Section, place: Vec3): readonly number[] => {
  const d = subtract(place, origin);
  return [dot(d, x), dot(d, y)];
};
