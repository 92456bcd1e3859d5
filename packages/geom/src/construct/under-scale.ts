import { enlarged } from '../feature/enlarged.js';
import type { Feature } from '../feature/feature.js';
import { growthOf } from '../feature/scale-error.js';
import { moved } from '../feature/small-moves.js';
import type { Uncertainty } from '../feature/uncertainty.js';
import { addScaled, subtract, type Vec3 } from '../math/vec3.js';

/** An estimate, as far as the scale of its scan is concerned. */
interface Scaled {
  readonly feature: Feature;
  readonly uncertainty: Uncertainty;
}

/** The errors of scale that estimates carry, as standard uncertainties: one for those of one scan. */
export const scalesOf = (estimates: Iterable<Scaled>): readonly number[] => [
  ...new Set([...estimates].flatMap(({ uncertainty }) => uncertainty.scale?.standard ?? [])),
];

/**
 * The features as they would be were the scan larger by `share` about `center`; those that do not carry this error of scale stay.
 * What is known of a feature apart from the scan, such as a radius by caliper, does not grow.
 */
export function underScale(
  estimates: ReadonlyMap<string, Scaled>,
  standard: number,
  center: Vec3,
  share: number,
): Map<string, Feature> {
  const grown = ({ feature, uncertainty }: Scaled): Feature => {
    const { scale, at, axes } = uncertainty;
    if (scale?.standard !== standard) return feature;
    const whole = enlarged(feature, center, 1 + share);
    const all = growthOf(feature, uncertainty);
    const base = { at: addScaled(at, subtract(at, center), share), axes };
    return moved(
      whole,
      base,
      scale.growth.map((own, p) => share * (own - all[p])),
    );
  };
  return new Map([...estimates].map(([id, estimate]) => [id, grown(estimate)]));
}
