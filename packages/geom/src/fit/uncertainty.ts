import type { Warning } from '../error.js';
import type { FeatureKind } from '../feature/feature.js';
import type { Vec3 } from '../math/vec3.js';
import { randomPart } from './correlation.js';
import { gatherPatches } from './correlation-patches.js';

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
  /** The random part of `covariance`; absent: all of it is random. */
  readonly random?: Float64Array;
  readonly warnings?: readonly Warning[];
}

/**
 * What is known of the scanner, as its maker or an acceptance test states it: any length over ℓ mm of the scan is wrong by at
 * most `accuracy + perMetre·ℓ/1000`, the same way however many points are taken. It enters as a rectangular distribution
 * (JCGM 100, 4.3.7): standard uncertainty bound/√3, with ℓ the feature's whole extent, on every parameter seen as a length
 * (a shift, a radius, a tilt times the reach).
 */
export interface ScannerAccuracy {
  /** mm */
  readonly accuracy: number;
  /** mm more for each metre of length. Default 0. */
  readonly perMetre?: number;
}

export interface FitForUncertainty {
  /** Says what the parameters are: the row of the table of {@link Uncertainty}. */
  readonly kind: FeatureKind;
  /** xyz xyz …, mm. */
  readonly positions: Float64Array;
  /** Indices of the points used, in the order of `residuals`; absent: all points. */
  readonly used?: Uint32Array;
  /** Signed distance of each used point from the fitted feature, mm. */
  readonly residuals: Float64Array;
  /** Number of parameters: as many as the feature's kind has in the table of {@link Uncertainty}. */
  readonly parameters: number;
  /**
   * Write the derivative of the signed distance of the i-th used point (i counts as `residuals` does) with respect to each
   * parameter, in the table's order. A parameter taken as given (a known radius or direction) gets 0.
   */
  gradient(i: number, out: Float64Array): void;
  readonly at: Vec3;
  readonly axes: readonly [u: Vec3, v: Vec3, w: Vec3];
  readonly reach: number;
  readonly scanner?: ScannerAccuracy;
}

/** Patches a fit's points are summed into. */
const PATCHES = 64;

/**
 * Standard uncertainty of a least-squares fit, from its own residuals and from what is known of the scanner.
 * Cost: one pass over the points and a bounded amount after it. Throws nothing.
 */
export function fitUncertainty(fit: FitForUncertainty): Uncertainty {
  const { at, axes, reach, parameters: m } = fit;
  const random = randomPart(gatherPatches(fit, PATCHES));
  const covariance = random.covariance.slice();
  const bound = lengthBound(fit.scanner, 2 * reach);
  const scale = parameterLengths(fit.kind, reach);
  for (let a = 0; a < m; a++) covariance[a * m + a] += (bound / scale[a]) ** 2 / 3;
  return { at, axes, covariance, degreesOfFreedom: random.degreesOfFreedom, reach, random: random.covariance };
}

/** The most by which the scanner gets a length of `length` mm wrong, mm. Zero where nothing is known of it. */
export const lengthBound = (scanner: ScannerAccuracy | undefined, length: number): number =>
  scanner ? scanner.accuracy + ((scanner.perMetre ?? 0) * length) / 1000 : 0;

/** Parameters of each kind that are angles; the others are lengths. */
const ANGLES: Record<FeatureKind, readonly boolean[]> = {
  plane: [false, true, true],
  line: [false, false, true, true],
  point: [false, false, false],
  circle: [false, false, false, true, true, false],
  sphere: [false, false, false, false],
  cylinder: [false, false, true, true, false],
  cone: [false, false, true, true, false, true],
  slot: [false, false, true, false, false],
  ellipse: [false, false, true, false, false],
};

/** mm by which a unit of each parameter moves the feature's surface at its farthest: 1 for lengths, `reach` for angles. */
const parameterLengths = (kind: FeatureKind, reach: number): number[] =>
  ANGLES[kind].map((isAngle) => (isAngle ? reach : 1));
