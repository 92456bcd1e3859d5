import type { FeatureKind } from '../../../feature/feature.js';
import type { Vec3 } from '../../../math/vec3.js';

/** What is summed over patches. */
export interface PatchSource {
  readonly kind: FeatureKind;
  readonly positions: Float64Array;
  readonly used?: Uint32Array;
  readonly residuals: Float64Array;
  readonly parameters: number;
  gradient(i: number, out: Float64Array): void;
  readonly at: Vec3;
  readonly axes: readonly [Vec3, Vec3, Vec3];
}
