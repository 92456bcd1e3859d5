import type { FeatureKind } from '../../../feature/feature.js';
import type { ScannerAccuracy } from '../../../feature/uncertainty.js';
import type { Vec3 } from '../../../math/vec3.js';
import type { ScanNoise } from '../../../noise/scan-noise.js';

/** A least-squares fit whose uncertainty is asked for. */
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
  readonly scanner?: Pick<ScannerAccuracy, 'accuracy'>;
  /** Of the scan the points are of. */
  readonly noise?: ScanNoise;
}
