import type { Polyline, Section } from './section.js';

/** Length of a polyline, mm; of a closed one all around. */
export function polylineLength({ points, closed }: Polyline): number {
  let length = 0;
  for (let i = closed ? 0 : 3; i < points.length; i += 3) {
    const j = i === 0 ? points.length - 3 : i - 3;
    length += Math.hypot(points[i] - points[j], points[i + 1] - points[j + 1], points[i + 2] - points[j + 2]);
  }
  return length;
}

/** Area inside a closed polyline, mm²: positive if it runs counterclockwise in the flat axes. An open one has none: 0. */
export function polylineArea({ flat, closed }: Polyline): number {
  if (!closed) return 0;
  // Relative to the first point: far from the origin products of coordinates would cancel digits.
  let twice = 0;
  for (let i = 2; i + 3 < flat.length; i += 2) {
    const ux = flat[i] - flat[0];
    const uy = flat[i + 1] - flat[1];
    twice += ux * (flat[i + 3] - flat[1]) - uy * (flat[i + 2] - flat[0]);
  }
  return twice / 2;
}

/** Length of all polylines of a section, mm. */
export const sectionLength = (section: Section): number =>
  section.polylines.reduce((sum, polyline) => sum + polylineLength(polyline), 0);

/**
 * Area of the material cut, mm²: the areas of the closed polylines added with their signs, so that holes count off. It is right
 * if the triangles face outward. Open polylines enclose nothing.
 */
export const sectionArea = (section: Section): number =>
  section.polylines.reduce((sum, polyline) => sum + polylineArea(polyline), 0);
