/**
 * Optima of small point sets by trying every candidate: pairs, triples and quadruples of points, each looked at by all
 * points.
 */
import type { Vec3 } from '@fettle/geom';
import { crossOf, dotOf, minus, pointOf } from './criteria-contacts.js';

/**
 * Width of the narrowest slab: normal to the plane through three points, or parallel to two lines through two points
 * each.
 */
export function slabWidth(positions: Float64Array): number {
  const n = positions.length / 3;
  const edges: Vec3[] = [];
  for (let i = 0; i < n; i++)
    for (let j = i + 1; j < n; j++) edges.push(minus(pointOf(positions, j), pointOf(positions, i)));
  let best = Number.POSITIVE_INFINITY;
  for (let a = 0; a < edges.length; a++)
    for (let b = a + 1; b < edges.length; b++) {
      const normal = crossOf(edges[a], edges[b]);
      const long = Math.hypot(...normal);
      if (long < 1e-9) continue;
      let low = Number.POSITIVE_INFINITY;
      let high = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < n; i++) {
        const h = dotOf(normal, pointOf(positions, i)) / long;
        low = Math.min(low, h);
        high = Math.max(high, h);
      }
      best = Math.min(best, high - low);
    }
  return best;
}

type Flat = readonly (readonly [x: number, y: number])[];

/** Width of the narrowest strip: one side along two of the points. */
export function stripWidth(points: Flat): number {
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < points.length; i++)
    for (let j = i + 1; j < points.length; j++) {
      const [dx, dy] = [points[j][0] - points[i][0], points[j][1] - points[i][1]];
      const heights = points.map(([x, y]) => (dx * y - dy * x) / Math.hypot(dx, dy));
      best = Math.min(best, Math.max(...heights) - Math.min(...heights));
    }
  return best;
}

const distances = (points: Flat, x: number, y: number): number[] => points.map((p) => Math.hypot(p[0] - x, p[1] - y));

/** Where two perpendicular bisectors meet. */
function equidistant(points: Flat, [i, j]: readonly number[], [k, l]: readonly number[]): [number, number] | undefined {
  const row = (a: number, b: number): [number, number, number] => {
    const [dx, dy] = [points[b][0] - points[a][0], points[b][1] - points[a][1]];
    return [dx, dy, (dx * (points[a][0] + points[b][0]) + dy * (points[a][1] + points[b][1])) / 2];
  };
  const [a, b, e] = row(i, j);
  const [c, d, f] = row(k, l);
  const det = a * d - b * c;
  return Math.abs(det) < 1e-12 ? undefined : [(e * d - b * f) / det, (a * f - e * c) / det];
}

const pairs = (n: number): [number, number][] =>
  Array.from({ length: n }, (_, i) =>
    Array.from({ length: n - i - 1 }, (_, k): [number, number] => [i, i + 1 + k]),
  ).flat();

/** Width of the narrowest ring: two points on its outer and two on its inner circle. */
export function ringWidth(points: Flat): number {
  let best = Number.POSITIVE_INFINITY;
  const all = pairs(points.length);
  for (let a = 0; a < all.length; a++)
    for (let b = a + 1; b < all.length; b++) {
      const center = equidistant(points, all[a], all[b]);
      if (!center) continue;
      const d = distances(points, ...center);
      best = Math.min(best, Math.max(...d) - Math.min(...d));
    }
  return best;
}

/** Radius of the smallest circle around the points: on two or on three of them. */
export function circumscribedRadius(points: Flat): number {
  const all = pairs(points.length);
  const centers: ([number, number] | undefined)[] = all.map(([i, j]) => [
    (points[i][0] + points[j][0]) / 2,
    (points[i][1] + points[j][1]) / 2,
  ]);
  for (const [i, j] of all)
    for (let k = j + 1; k < points.length; k++) centers.push(equidistant(points, [i, j], [i, k]));
  return Math.min(...centers.filter((c) => c !== undefined).map((c) => Math.max(...distances(points, ...c))));
}

/**
 * Radius of the largest circle with no point inside and three on it that are not within half a circle; its center near
 * zero.
 */
export function inscribedRadius(points: Flat, within: number): number | undefined {
  let best: number | undefined;
  for (const [i, j] of pairs(points.length))
    for (let k = j + 1; k < points.length; k++) {
      const center = equidistant(points, [i, j], [i, k]);
      if (!center || Math.hypot(...center) > within) continue;
      const d = distances(points, ...center);
      if (d[i] > Math.min(...d) + 1e-9 || (best !== undefined && d[i] <= best)) continue;
      const angles = [i, j, k]
        .map((p) => Math.atan2(points[p][1] - center[1], points[p][0] - center[0]))
        .sort((a, b) => a - b);
      const gaps = [angles[1] - angles[0], angles[2] - angles[1], angles[0] + 2 * Math.PI - angles[2]];
      if (Math.max(...gaps) < Math.PI) best = d[i];
    }
  return best;
}
