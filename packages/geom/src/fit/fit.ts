import type { Warning } from '../error.js';
import type { Feature, Plane } from '../feature/feature.js';
import type { ScannerAccuracy, Uncertainty } from '../feature/uncertainty.js';
import type { Vec3 } from '../math/vec3.js';
import type { ScanNoise } from '../noise/scan-noise.js';

/**
 * How a feature is associated with its points (ISO 17450-1): Gaussian, Chebyshev, or one-sided (ISO 14405-1 GX, GN).
 */
export type Criterion = 'least-squares' | 'minimum-zone' | 'maximum-inscribed' | 'minimum-circumscribed';

/** Options common to all fits. */
export interface FitOptions<F extends Feature = Feature> {
  /**
   * Default `least-squares`. `minimum-zone` for plane, line, circle, sphere and cylinder; `maximum-inscribed` and
   * `minimum-circumscribed` for circle and cylinder.
   */
  readonly criterion?: Criterion;
  /**
   * Share of the points left out as extremes before a criterion other than least squares is applied, in [0, 0.5): half
   * of it on each side for a minimum zone, all of it on the side touched for the others; ranked by the least-squares
   * residuals. Default 0.
   */
  readonly trim?: number;
  /**
   * Leave out points farther than this many sigmas (robust scale of the residuals), repeated until the set is stable.
   */
  readonly reject?: number;
  /**
   * Start from a seeded sample consensus, so that up to 40 % of points from elsewhere do not move the feature, and
   * keep near another surface only what its points hardly reach. Default: on where `reject` is set. Without `reject` it rejects at 3
   * sigmas.
   */
  readonly robust?: boolean;
  /** Start here instead of the fit's own start. Never needed; saves time when a close answer is at hand. */
  readonly initial?: F;
  /** What is known of the scanner; it enters the uncertainty. */
  readonly scanner?: ScannerAccuracy;
  /**
   * The noise of the scan the points are of, by {@link scanNoise}. With it a small feature's uncertainty allows for noise that is alike
   * over lengths near its own size, which its residuals cannot show.
   */
  readonly noise?: ScanNoise;
}

/**
 * A value taken as given: alone, or with how well it is known. With `prior` it is weighed against the points instead of
 * taken as it stands.
 */
export type Known<T> = T | KnownWithUncertainty<T>;

export interface KnownWithUncertainty<T> {
  readonly value: T;
  /**
   * ± as a person writes it on the drawing: expanded, coverage factor 2. mm, or radians for a direction or an angle.
   */
  readonly uncertainty: number;
  /** Weigh the value against the points, each by its own uncertainty. Default false: the value stands. */
  readonly prior?: boolean;
}

/** A size or direction taken as given: a caliper gives the size, a datum the direction, the scan the place. */
export interface KnownRadius {
  /** mm */
  readonly radius?: Known<number>;
}
export interface KnownDirection {
  /** Of an axis, or of a plane's normal; any length. The feature keeps its sign. */
  readonly direction?: Known<Vec3>;
}
export interface KnownHalfAngle {
  /** Radians, in (0, π/2). */
  readonly halfAngle?: Known<number>;
}
export interface KnownPlane {
  readonly plane?: Known<Plane>;
}

/** A given value beside what the points alone say. */
export interface KnownComparison {
  readonly name: 'radius' | 'direction' | 'halfAngle' | 'plane';
  readonly prior: boolean;
  readonly given: number | Vec3;
  /** From the fit with nothing given. */
  readonly free: number | Vec3;
  /** free − given, mm or radians; between directions the angle. */
  readonly difference: number;
  /** Combined standard uncertainty of the difference, mm or radians. */
  readonly uncertainty: number;
  /** k of the difference's ± of 95 % (JCGM 100, G.4), which few pieces of noise make larger than 2; between directions for both angles. */
  readonly factor: number;
  /** |difference| / uncertainty. Past `factor` the given value and the scan hardly speak of the same thing. */
  readonly multiples: number;
}

/** How much of the whole shape the points show. */
export interface Coverage {
  /**
   * Angle about the axis or center that holds all points, radians: full turn less the largest gap. Of a sphere: of the
   * cap.
   */
  readonly arc?: number;
  /** Extent along the axis or line, mm. */
  readonly length?: number;
}

export interface Fit<F extends Feature> {
  readonly feature: F;
  readonly criterion: Criterion;
  /** Number of points used. */
  readonly count: number;
  /** Indices of the points used, in the order of `residuals`. */
  readonly used: Uint32Array;
  /**
   * Signed distances of the used points from the feature, mm: positive outside, or on the normal's side. From a line:
   * plain distances. From a circle in space: the whole distance, with the sign of its radial part.
   */
  readonly residuals: Float64Array;
  /** Root mean square of the residuals: √(Σr²/count), mm. */
  readonly rms: number;
  /** Largest |residual|, mm. */
  readonly max: number;
  /**
   * Peak to valley: largest minus smallest residual, mm; of a minimum zone its width. Of a line: diameter of the
   * cylinder about it that holds the points.
   */
  readonly form: number;
  /** Indices of the points left out by `reject`. */
  readonly rejected: Uint32Array;
  readonly iterations: number;
  /** True when the last step was at rounding. */
  readonly converged: boolean;
  /** Worked out when first read. */
  readonly uncertainty: Uncertainty;
  readonly coverage: Coverage;
  /** One entry a known value; absent where none was given. */
  readonly known?: readonly KnownComparison[];
  readonly warnings: readonly Warning[];
  /** By criteria other than least squares: the points that hold the feature in place. */
  readonly contacts?: readonly Contact[];
  /** By criteria other than least squares: the share left out as extremes. */
  readonly trim?: number;
  /** Indices of the points left out so, ascending. */
  readonly trimmed?: Uint32Array;
  /** By criteria other than least squares: how it was made sure that nothing is better. */
  readonly optimality?: Optimality;
}

/** A point the zone or gauge touches. */
export interface Contact {
  /** Index of the point in `positions`. */
  readonly index: number;
  /** 1 on the outer or upper bound of the zone (the side of positive residuals), −1 on the other. */
  readonly side: 1 | -1;
}

/** Why the result is the best there is. */
export interface Optimality {
  /** `global`: no feature at all does better. `local`: none near it does. */
  readonly scope: 'global' | 'local';
  /** The check that was made, in words. */
  readonly how: string;
  /** No feature in scope is better than this one by more than so much, mm: value found less the bound proven. */
  readonly gap: number;
}
