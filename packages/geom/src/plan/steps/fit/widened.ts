import type { Warning } from '../../../error.js';
import type { Feature } from '../../../feature/feature.js';
import type { Fit } from '../../../fit/fit.js';

/**
 * A fit whose ± holds errors besides, mm or radians by the place of their parameters: standard uncertainties that are independent of the
 * rest (JCGM 100, 5.1.2).
 */
export function widened(
  fit: Fit<Feature>,
  by: ReadonlyMap<number, number>,
  warnings: readonly Warning[],
): Fit<Feature> {
  if (by.size === 0 && warnings.length === 0) return fit;
  let made: Fit<Feature>['uncertainty'] | undefined;
  const uncertainty = (): Fit<Feature>['uncertainty'] => {
    if (made) return made;
    const covariance = fit.uncertainty.covariance.slice();
    const m = Math.round(Math.sqrt(covariance.length));
    for (const [p, standard] of by) covariance[p * (m + 1)] += standard * standard;
    // What the residuals told stays what it was.
    made = Object.freeze({
      ...fit.uncertainty,
      random: fit.uncertainty.random ?? fit.uncertainty.covariance,
      covariance,
    });
    return made;
  };
  // By descriptors, because the uncertainty is worked out only when it is read.
  return Object.freeze(
    Object.defineProperties({} as Fit<Feature>, {
      ...Object.getOwnPropertyDescriptors(fit),
      uncertainty: { get: uncertainty, enumerable: true },
      warnings: { value: Object.freeze([...fit.warnings, ...warnings]), enumerable: true },
    }),
  );
}
