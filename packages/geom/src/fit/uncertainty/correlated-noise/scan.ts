import { mixtureOf } from '../../../noise/mixture-kernel.js';
import type { NoiseNear } from '../../../noise/noise-near.js';
import type { Contrast } from './contrast.js';
import { fieldOf, type Separations } from './field.js';
import { type Evidence, hypothesesOf } from './likelihood.js';
import type { Component } from './mixture.js';
import { type Patches, WHOLE } from './patches.js';

/** The noise of the scan, as the residuals of one fit judge it. */
export interface ScanComponent extends Component {
  /** Logarithm of the density of the residuals under it and of its own chance. */
  readonly log: number;
}

/** Of a surface the noise that each point has to itself may differ by such factors of its variance, with these chances. */
const WHITE_FACTORS: readonly (readonly [factor: number, chance: number])[] = [
  [0.25, 0.05],
  [0.5, 0.15],
  [1, 0.6],
  [2, 0.15],
  [4, 0.05],
];
/** Surfaces of one scan differ: none of them tells another's variance with more degrees of freedom than this. */
const MOST_ALIKE = 30;
const MOST_DEGREES = 200;

/**
 * A fit's covariance under the noise of the scan. The residuals may only add: where they scatter by more than the scan's noise lets
 * expect, all of it is taken for stronger here, each variance by its degrees of freedom; never for weaker, because a small feature
 * goes along with long noise and does not show it.
 *
 * `shared` is the covariance by what the scan's neighbors share alone: no other hypothesis may give less.
 *
 * @param inverse (JᵀJ)⁻¹ of all points, m×m
 */
export function scanComponents(
  patches: Patches,
  reduced: Contrast,
  apart: Separations,
  inverse: Float64Array,
  noise: NoiseNear,
): { readonly components: ScanComponent[]; readonly shared: Float64Array } {
  const mixture = mixtureOf(noise.terms);
  const field = mixture && fieldOf(patches, reduced, apart, mixture.kernel, mixture.length);
  const perPatch = patches.size / patches.units[0];
  const inPatch = field && mixture ? mixture.variance * field.alike[WHOLE] : 0;
  const shared = inverse.map((_, k) => (field ? inPatch * field.covariance[k] : 0));
  const components = WHITE_FACTORS.map(([factor, chance]): ScanComponent => {
    const white = Math.max(factor * noise.white, 1e-12 * (mixture?.variance ?? 1));
    const expected = white * perPatch + inPatch;
    // Of noise that neighbors share never less than the scan has; of the rest as much as these residuals show.
    const covarianceAt = (amplitude: number): Float64Array =>
      inverse.map((e, k) => amplitude * white * e + Math.max(1, amplitude) * shared[k]);
    if (reduced.residual.length < 1)
      return { log: Math.log(chance), weight: 0, covariance: covarianceAt(1), degrees: MOST_DEGREES };
    const { together } = hypothesesOf(patches, reduced.residual, field, [(white * perPatch) / expected])[0];
    const { amplitude, degrees } = amplitudeOf(together, expected, noise.degreesOfFreedom);
    return {
      log: Math.log(chance) + together.logDensity,
      weight: 0,
      covariance: covarianceAt(amplitude),
      degrees,
    };
  });
  return { components, shared };
}

function amplitudeOf(
  { variance, degrees: own }: Evidence,
  expected: number,
  known: number,
): { amplitude: number; degrees: number } {
  const scan = Math.min(known, MOST_ALIKE);
  const pooled = (scan + (own * variance) / expected) / (scan + own);
  return { amplitude: pooled, degrees: Math.min(known + own, MOST_DEGREES) };
}
