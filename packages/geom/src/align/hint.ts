import type { Vec3 } from '../math/vec3.js';
import { along, type Way, type Ways } from './freedom.js';
import { carried, composed, type Rigid } from './rigid.js';

/** A place of the scan, and where it is on the reference, about: mm in the axes of each. */
export type NearPair = readonly [scan: Vec3, reference: Vec3];

/** Root mean square distance of the pairs' places in a pose, mm. */
export function offPairs(pairs: readonly NearPair[], motion: Rigid): number {
  let sum = 0;
  for (const [from, to] of pairs) {
    const [x, y, z] = carried(motion, from);
    sum += (x - to[0]) ** 2 + (y - to[1]) ** 2 + (z - to[2]) ** 2;
  }
  return Math.sqrt(sum / pairs.length);
}

/** The pose moved along its free ways to where the pairs come nearest: all around first, since a turn has more than one best place. */
export function drawnToPairs(pairs: readonly NearPair[], start: Rigid, free: readonly Way[], ways: Ways): Rigid {
  if (free.length === 0) return start;
  let motion = start;
  for (let sweep = 0; sweep < 30; sweep++)
    for (const way of free) {
      const around = 2 * Math.PI * ways.reach;
      const step = sweep === 0 ? around / 72 : around / 72 / 1.6 ** sweep;
      const count = sweep === 0 ? 36 : 2;
      let best = motion;
      for (let k = -count; k <= count; k++) {
        const tried = composed(along(way, k * step, ways), motion);
        if (offPairs(pairs, tried) < offPairs(pairs, best)) best = tried;
      }
      motion = best;
    }
  return motion;
}
