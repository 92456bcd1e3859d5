import type { Vec3 } from '../math/vec3.js';

/**
 * What a fit says about how far its feature can be trusted (JCGM 100, GUM).
 *
 * The parameters are small moves of the feature about `at`, in the axes `u`, `v`, `w`:
 *
 * | kind     | parameters                                                      | w         |
 * |----------|-----------------------------------------------------------------|-----------|
 * | plane    | shift along w, tilt toward u, tilt toward v                     | normal    |
 * | line     | shift along u, shift along v, tilt toward u, tilt toward v      | direction |
 * | point    | shift along u, v, w                                             | any       |
 * | circle   | shift along u, v, w, tilt toward u, tilt toward v, radius       | normal    |
 * | sphere   | shift along u, v, w, radius                                     | any       |
 * | cylinder | shift along u, v, tilt toward u, v, radius                      | direction |
 * | cone     | shift along u, v, tilt toward u, v, radius at `at`, half-angle  | direction |
 *
 * A tilt toward u by ε turns w into w + ε·u, about `at`. Shifts and radii in mm, tilts and angles in radians.
 */
export interface Uncertainty {
  readonly at: Vec3;
  readonly axes: readonly [u: Vec3, v: Vec3, w: Vec3];
  /** Combined standard covariance of the parameters, row-major m×m. */
  readonly covariance: Float64Array;
  /** Effective degrees of freedom of the random part (Infinity where only a stated accuracy enters). */
  readonly degreesOfFreedom: number;
  /** Half the feature's extent along and across, mm, seen from `at`: a tilt of ε moves its far end by ε·reach. */
  readonly reach: number;
}
