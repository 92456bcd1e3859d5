import { enlarged } from './enlarged.js';
import type { Feature } from './feature.js';
import { type Base, moveOf } from './small-moves.js';
import type { ScaleError, ScannerAccuracy, Uncertainty } from './uncertainty.js';

/** Standard uncertainty of the scale, as a share: a bound of `perMeter` mm to a meter is a rectangular distribution (JCGM 100, 4.3.7). */
export const scaleStandard = (scanner: ScannerAccuracy | undefined): number =>
  (scanner?.perMeter ?? 0) / 1000 / Math.sqrt(3);

/** Growth of a feature's parameters, counted from its base, with the scale of the scan about `base.at`. They are linear in it. */
export const growthOf = (feature: Feature, base: Base): Float64Array =>
  Float64Array.from(moveOf(enlarged(feature, base.at, 2), base, feature));

/** The uncertainty of a feature with the error of the scan's scale in it, where the scanner has one. */
export function withScaleError(
  uncertainty: Uncertainty,
  growth: Float64Array,
  scanner: ScannerAccuracy | undefined,
): Uncertainty {
  const standard = scaleStandard(scanner);
  if (standard === 0) return uncertainty;
  return {
    ...uncertainty,
    covariance: withScale(uncertainty.covariance, { standard, growth }, 1),
    scale: { standard, growth },
  };
}

/** The covariance without what the scale adds: what is the feature's own. */
export const ownCovariance = ({ covariance, scale }: Uncertainty): Float64Array =>
  scale ? withScale(covariance, scale, -1) : covariance;

function withScale(covariance: Float64Array, { standard, growth }: ScaleError, sign: 1 | -1): Float64Array {
  const m = growth.length;
  return covariance.map((c, k) => c + sign * standard * standard * growth[Math.floor(k / m)] * growth[k % m]);
}
