import type { Warning } from '../error.js';
import type { Vec3 } from '../math/vec3.js';
import type { FeatureKind } from './feature.js';

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
 * | slot     | shift along u (its direction), v, turn about w, length, width   | normal    |
 * | ellipse  | shift along u (its direction), v, turn about w, major, minor    | normal    |
 * | frame    | shift along u, v, w (x, y, z of the frame), turn about u, v, w   | z         |
 *
 * A tilt toward u by ε turns w into w + ε·u, about `at`. Shifts and radii in mm, tilts and angles in radians.
 */
export interface Uncertainty {
  /** Says what the parameters are: a row of the table. */
  readonly kind: FeatureKind | 'frame';
  readonly at: Vec3;
  readonly axes: readonly [u: Vec3, v: Vec3, w: Vec3];
  /** Combined standard covariance of the parameters, row-major m×m. */
  readonly covariance: Float64Array;
  /** Effective degrees of freedom of the random part (Infinity where only a stated accuracy enters). */
  readonly degreesOfFreedom: number;
  /** Half the feature's extent along and across, mm, seen from `at`: a tilt of ε moves its far end by ε·reach. */
  readonly reach: number;
  /** The random part of `covariance`; absent: all of it is random. */
  readonly random?: Float64Array;
  /** The part of `covariance` that is the error of the scan's scale, shared by all features of the scan; absent: none. */
  readonly scale?: ScaleError;
  /** Distance over which neighboring points err together, as their residuals tell, mm; 0 where they do not. Only of a fit. */
  readonly correlationLength?: number;
  readonly warnings?: readonly Warning[];
}

/** Standard uncertainty of a number, and from where it comes (JCGM 100, 5.1 and G.4). */
export interface NumberUncertainty {
  /** Combined standard uncertainty, in the number's own unit. */
  readonly standard: number;
  /** The part of it that comes from the residuals of fits. */
  readonly random: number;
  /** Effective degrees of freedom of `random` (Welch and Satterthwaite). */
  readonly degreesOfFreedom: number;
  /** Standard uncertainty each root adds, largest first. */
  readonly sources: readonly { readonly root: string; readonly standard: number }[];
}

/**
 * What is known of the scanner, as its maker or an acceptance test states it: a length of ℓ mm on the scan is wrong by at most
 * `accuracy + perMeter·ℓ/1000`, the same way however many points are taken. Both enter as rectangular distributions (JCGM 100,
 * 4.3.7), standard uncertainty bound/√3. `accuracy` is each fit's own, on every parameter seen as a length (a shift, a radius, a tilt
 * times the reach); `perMeter` is one error of the scale, shared by all of the scan: see {@link ScaleError}.
 */
export interface ScannerAccuracy {
  /** mm */
  readonly accuracy: number;
  /** mm more for each meter of length: one scale for the whole scan. Default 0. */
  readonly perMeter?: number;
}

/**
 * The error of a scan's scale, in the uncertainty of a feature of that scan. It is one error for the whole scan: all its lengths are
 * too long by the same share, so that it is fully correlated between features (JCGM 100, 5.2.2), cancels from differences of
 * equal lengths, and does not touch angles.
 */
export interface ScaleError {
  /** Standard uncertainty of the scan's scale, as a share: 1e-4 is 0.1 mm on a meter. */
  readonly standard: number;
  /** Growth of each parameter, in the order of the table of {@link Uncertainty}, where the scan is larger by a unit share: of a radius, itself, mm. */
  readonly growth: Float64Array;
}

/** Parameters of each kind that are angles; the others are lengths. */
export const ANGLES: Record<Uncertainty['kind'], readonly boolean[]> = {
  plane: [false, true, true],
  line: [false, false, true, true],
  point: [false, false, false],
  circle: [false, false, false, true, true, false],
  sphere: [false, false, false, false],
  cylinder: [false, false, true, true, false],
  cone: [false, false, true, true, false, true],
  slot: [false, false, true, false, false],
  ellipse: [false, false, true, false, false],
  frame: [false, false, false, true, true, true],
};
