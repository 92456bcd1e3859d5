import type { Warning } from '../error.js';
import type { Feature, Plane } from '../feature/feature.js';
import type { Vec3 } from '../math/vec3.js';
import type { Uncertainty } from './uncertainty.js';

/** How a feature is associated with its points (ISO 17450-1): Gaussian, Chebyshev, or one-sided (ISO 14405-1 GX, GN). */
export type Criterion = 'least-squares' | 'minimum-zone' | 'maximum-inscribed' | 'minimum-circumscribed';

/** Options common to all fits. */
export interface FitOptions<F extends Feature = Feature> {
  /** Default `least-squares`. */
  readonly criterion?: Criterion;
  /** Leave out points farther than this many sigmas (robust scale of the residuals), repeated until the set is stable. */
  readonly reject?: number;
  /** Start here instead of the fit's own start. Never needed; saves time when a close answer is at hand. */
  readonly initial?: F;
}

/** A size or direction taken as given: a caliper gives the size, a datum the direction, the scan the place. */
export interface KnownRadius {
  readonly radius?: number;
}
export interface KnownDirection {
  readonly direction?: Vec3;
}
export interface KnownPlane {
  readonly plane?: Plane;
}

export interface Fit<F extends Feature> {
  readonly feature: F;
  readonly criterion: Criterion;
  /** Number of points used. */
  readonly count: number;
  /** Indices of the points used, in the order of `residuals`. */
  readonly used: Uint32Array;
  /** Signed distances of the used points from the feature, mm: positive outside, or on the normal's side. */
  readonly residuals: Float64Array;
  /** Root mean square of the residuals: √(Σr²/count), mm. */
  readonly rms: number;
  /** Largest |residual|, mm. */
  readonly max: number;
  /** Peak to valley: largest minus smallest residual, mm. */
  readonly form: number;
  /** Indices of the points left out by `reject`. */
  readonly rejected: Uint32Array;
  readonly iterations: number;
  /** True when the last step was at rounding. */
  readonly converged: boolean;
  readonly uncertainty: Uncertainty;
  readonly warnings: readonly Warning[];
}
