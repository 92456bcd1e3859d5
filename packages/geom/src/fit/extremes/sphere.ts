import type { Sphere } from '../../feature/feature.js';
import { add, length, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Association, awayFromStart, type CriterionOptions, demandPoints } from './association.js';
import { localCloud, trimCloud } from './cloud.js';
import { exchange } from './exchange.js';
import { aboutCenter, poseAt } from './round-shape.js';

const AXES = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
] as const satisfies readonly Vec3[];

/**
 * The sphere in the middle of the narrowest shell that holds the points (minimum zone, ISO 1101): searched from the
 * least-squares sphere by exchange ({@link exchange}), so a local minimum; five contacts in general.
 *
 * @throws FettleError `too-few-points`, `bad-trim`
 */
export function minimumZoneSphere(points: Points, options: CriterionOptions<Sphere>): Association<Sphere> {
  const { start, trim = 0 } = options;
  const sides = { high: true, low: true };
  const cloud = localCloud(points, start.center, AXES);
  const { kept, trimmed } = trimCloud(cloud, (x, y, z) => Math.hypot(x, y, z), trim, sides);
  demandPoints(kept.count, 5, 'A minimum-zone sphere');
  const zone = exchange(kept, aboutCenter, sides, poseAt([0, 0, 0], [0, 0, 1]), start.radius / 2);
  const { pose, inner, outer, contacts, iterations, optimality } = zone;
  return {
    feature: Object.freeze({
      kind: 'sphere',
      center: add(start.center, pose.origin),
      radius: (inner + outer) / 2,
    }),
    form: outer - inner,
    contacts,
    trim,
    trimmed,
    optimality,
    iterations,
    warnings: awayFromStart('The minimum-zone sphere', length(pose.origin), start.radius),
  };
}
