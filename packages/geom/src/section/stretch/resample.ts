import type { Polyline } from '../section.js';

/** A polyline with the way along it: `along[i]` is the length from its first point to its point i, and the last entry all of it. */
export interface Course {
  readonly polyline: Polyline;
  readonly along: Float64Array;
  readonly length: number;
}

export function courseOf(polyline: Polyline): Course {
  const { points, closed } = polyline;
  const count = points.length / 3;
  const along = new Float64Array(closed ? count + 1 : count);
  for (let i = 1; i < along.length; i++) {
    const a = 3 * (i - 1);
    const b = 3 * (i % count);
    along[i] =
      along[i - 1] + Math.hypot(points[b] - points[a], points[b + 1] - points[a + 1], points[b + 2] - points[a + 2]);
  }
  return { polyline, along, length: along[along.length - 1] };
}

/** The place on a polyline some way along it, mm from its first point; of a closed one, around it. */
function placeAlong({ polyline, along, length }: Course, way: number): [number, number, number] {
  const { points, closed } = polyline;
  const at = closed ? way - length * Math.floor(way / length) : Math.min(Math.max(way, 0), length);
  let low = 0;
  let high = along.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (along[middle] <= at) low = middle;
    else high = middle;
  }
  const share = along[high] > along[low] ? (at - along[low]) / (along[high] - along[low]) : 0;
  const a = 3 * low;
  const b = (3 * high) % points.length;
  return [
    points[a] + share * (points[b] - points[a]),
    points[a + 1] + share * (points[b + 1] - points[a + 1]),
    points[a + 2] + share * (points[b + 2] - points[a + 2]),
  ];
}

/**
 * Places evenly spaced along a stretch of a polyline, both ends among them, about `every` mm apart (xyz xyz …). Between the
 * crossings they lie on chords, on the hollow side of an arc by up to the chord's length squared over eight radii.
 */
export function placesAlong(course: Course, from: number, length: number, every: number): Float64Array {
  const steps = Math.max(1, Math.round(length / every));
  const isLoop = course.polyline.closed && length >= course.length;
  const places = new Float64Array(3 * (isLoop ? steps : steps + 1));
  for (let i = 0; 3 * i < places.length; i++) places.set(placeAlong(course, from + (length * i) / steps), 3 * i);
  return places;
}

/** Where along a polyline it comes nearest to a place, and how near, mm. */
export function nearestAlong({ polyline, along }: Course, place: ArrayLike<number>): { way: number; distance: number } {
  const { points } = polyline;
  let way = 0;
  let least = Infinity;
  for (let i = 1; i < along.length; i++) {
    const a = 3 * (i - 1);
    const b = (3 * i) % points.length;
    let to = 0;
    let square = 0;
    for (let k = 0; k < 3; k++) {
      to += (points[b + k] - points[a + k]) * (place[k] - points[a + k]);
      square += (points[b + k] - points[a + k]) ** 2;
    }
    const share = square > 0 ? Math.min(Math.max(to / square, 0), 1) : 0;
    let off = 0;
    for (let k = 0; k < 3; k++) off += (points[a + k] + share * (points[b + k] - points[a + k]) - place[k]) ** 2;
    if (off >= least) continue;
    least = off;
    way = along[i - 1] + share * (along[i] - along[i - 1]);
  }
  return { way, distance: Math.sqrt(least) };
}
