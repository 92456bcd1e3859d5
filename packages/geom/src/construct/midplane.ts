import { FettleError } from '../error.js';
import type { Plane } from '../feature/feature.js';
import { planeOf, type WithPlane } from '../feature/roles.js';
import { add, dot, normalize, scale, subtract } from '../math/vec3.js';
import { degreesInWords } from '../text/in-words.js';
import { acuteAngle } from './alignment.js';
import { type Constructed, constructed } from './constructed.js';

/** Past this, two planes have two planes halfway between them and no saying which is meant. */
const ambiguous = (80 * Math.PI) / 180;
/** Past this it is the bisector of a wedge rather than the middle of a slab, and says so. */
const wedge = (5 * Math.PI) / 180;

/**
 * The plane midway between two planes: every point of it is as far from one as from the other. Its normal is halfway
 * between the first plane's normal and the second's, turned to agree with the first; its point lies halfway between
 * theirs.
 *
 * @throws FettleError `not-parallel` when they are more than 80° apart; past 5° a warning `wedge`
 */
export function midplane(first: WithPlane, second: WithPlane): Constructed<Plane> {
  const a = planeOf(first);
  const b = planeOf(second);
  const angle = acuteAngle(a.normal, b.normal);
  if (angle > ambiguous)
    throw new FettleError(
      'not-parallel',
      `The two planes are ${degreesInWords(angle)} apart: two planes lie halfway between them. A mid-plane needs them more nearly parallel.`,
    );
  const turned = scale(b.normal, dot(a.normal, b.normal) < 0 ? -1 : 1);
  const sum = add(a.normal, turned);
  const middle = scale(add(a.point, b.point), 0.5);
  // Signed distances from the two planes, with normals agreeing, add to zero on the plane midway.
  const off = dot(a.normal, subtract(middle, a.point)) + dot(turned, subtract(middle, b.point));
  return constructed(
    { kind: 'plane', point: subtract(middle, scale(sum, off / dot(sum, sum))), normal: normalize(sum) },
    angle > wedge
      ? { code: 'wedge', message: `The two planes are ${degreesInWords(angle)} apart: their mid-plane halves a wedge.` }
      : undefined,
  );
}
