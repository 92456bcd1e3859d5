import type { Vec3 } from '../math/vec3.js';
import type { NoiseKernel } from './kernels.js';

/** A part of the noise that neighboring points share. */
export interface NoiseTerm {
  readonly kernel: NoiseKernel;
  /** Over which neighbors err together, mm. */
  readonly length: number;
  /** mm² */
  readonly variance: number;
}

/** Noise across a surface: of each point alone, and what neighbors share. */
export interface NoiseModel {
  /** Variance of the part each point has to itself, mm². */
  readonly white: number;
  readonly terms: readonly NoiseTerm[];
}

/** Noise as measured on one smooth surface of the scan. */
export interface SurfaceNoise extends NoiseModel {
  /** Middle of its points, and their farthest distance from it, mm. */
  readonly center: Vec3;
  readonly reach: number;
  /** mm² */
  readonly area: number;
  /** A sample of its points, xyz xyz …, mm: where it is. */
  readonly places: Float64Array;
  /** Root mean square off the smooth surface, mm. */
  readonly rms: number;
}

/** The noise of a whole scan. */
export interface ScanNoise {
  /** `measured` on the scan's own surfaces, `stated` by the plan, or `unknown`: the scan has no surface large enough. */
  readonly from: 'measured' | 'stated' | 'unknown';
  /** Largest first. Empty where the noise was stated or is not known. */
  readonly surfaces: readonly SurfaceNoise[];
  /** Of all surfaces together, or as stated. Undefined where nothing is known. */
  readonly model?: NoiseModel;
}

/** Variance of one point, mm². */
export const varianceOf = ({ white, terms }: NoiseModel): number =>
  terms.reduce((sum, { variance }) => sum + variance, white);
