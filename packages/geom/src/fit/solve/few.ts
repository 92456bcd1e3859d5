import type { Random } from '../../math/random.js';
import { cross, length, normalize, subtract, type Vec3 } from '../../math/vec3.js';
import { type PointSet, pointAt } from './point-set.js';

/** `count` different points at random, from the origin. */
export function fewPoints(set: PointSet, count: number, origin: Vec3, random: Random): Vec3[] {
  const places = new Set<number>();
  while (places.size < Math.min(count, set.count)) places.add(random.below(set.count));
  return Array.from(places, (place) => subtract(pointAt(set, place), origin));
}

/** Unit normal of the plane through three points; undefined where they are on one line. */
export function normalThrough([a, b, c]: readonly Vec3[]): Vec3 | undefined {
  const n = cross(subtract(b, a), subtract(c, a));
  return length(n) > 1e-12 * length(subtract(b, a)) * length(subtract(c, a)) ? normalize(n) : undefined;
}

/** Center of the circle through three points in their plane; undefined where they are on one line. */
export function centerThrough([a, b, c]: readonly Vec3[]): Vec3 | undefined {
  const ab = subtract(b, a);
  const ac = subtract(c, a);
  const n = cross(ab, ac);
  const nn = n[0] ** 2 + n[1] ** 2 + n[2] ** 2;
  const bb = ab[0] ** 2 + ab[1] ** 2 + ab[2] ** 2;
  const cc = ac[0] ** 2 + ac[1] ** 2 + ac[2] ** 2;
  if (!(nn > 1e-20 * bb * cc)) return undefined;
  const toB = cross(ac, n);
  const toC = cross(n, ab);
  return [0, 1, 2].map((k) => a[k] + (bb * toB[k] + cc * toC[k]) / (2 * nn)) as unknown as Vec3;
}
