import type { Random } from '../../math/random.js';
import { type PointSet, subset } from './point-set.js';

/**
 * At most `most` of the points: one drawn from each of as many equal stretches of the order they come in. Spread over the
 * whole scan as every k-th point is, but not in step with its rows.
 */
export function samplePoints(set: PointSet, most: number, random: Random): PointSet {
  if (set.count <= most) return set;
  const places = new Uint32Array(most);
  for (let s = 0; s < most; s++) {
    const from = Math.floor((s * set.count) / most);
    const to = Math.floor(((s + 1) * set.count) / most);
    places[s] = from + random.below(to - from);
  }
  return subset(set, places);
}
