import { seededRandom } from '../../math/random.js';
import type { Vec3 } from '../../math/vec3.js';
import { toLocal } from './normal-equations.js';
import type { Placement } from './placement.js';
import type { PointSet } from './point-set.js';
import { samplePoints } from './sample.js';

/** Points looked at. A full turn seen in so many shows gaps of a third of a degree at most. */
const SAMPLE = 8192;
const SEED = 2;

/** Points as the fitted feature sees them, at most a few thousand. */
export interface Seen {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly set: PointSet;
}

export function seenFrom(set: PointSet, placement: Placement, origin: Vec3): Seen {
  const sample = samplePoints(set, SAMPLE, seededRandom(SEED));
  const { count } = sample;
  const [x, y, z] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  toLocal(sample.xyz, 0, count, placement, origin, x, y, z);
  return { count, x, y, z, set: sample };
}

/** Full turn less the largest angle about w that holds no point, radians. */
export function arcAbout({ x, y, count }: Seen): number {
  const angles = new Float64Array(count);
  for (let i = 0; i < count; i++) angles[i] = Math.atan2(y[i], x[i]);
  angles.sort();
  let gap = angles[0] + 2 * Math.PI - angles[count - 1];
  for (let i = 1; i < count; i++) gap = Math.max(gap, angles[i] - angles[i - 1]);
  return Math.max(0, 2 * Math.PI - gap);
}

/** Angle of the cap about the points' mean direction that holds them all, radians: 2π for a whole sphere. */
export function capAbout({ x, y, z, count }: Seen): number {
  const far = (i: number): number => Math.hypot(x[i], y[i], z[i]) || 1;
  const mean = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    mean[0] += x[i] / far(i);
    mean[1] += y[i] / far(i);
    mean[2] += z[i] / far(i);
  }
  const long = Math.hypot(...mean);
  if (long < 1e-9 * count) return 2 * Math.PI;
  let least = 1;
  for (let i = 0; i < count; i++)
    least = Math.min(least, (x[i] * mean[0] + y[i] * mean[1] + z[i] * mean[2]) / (far(i) * long));
  return 2 * Math.acos(Math.max(-1, least));
}

/** Extent along w, mm. */
export function lengthAlong({ z }: Seen): number {
  let low = Infinity;
  let high = -Infinity;
  for (const level of z) {
    if (level < low) low = level;
    if (level > high) high = level;
  }
  return high - low;
}
