import type { Warning } from '../error.js';
import type { Feature } from '../feature/feature.js';

/** A feature made from features, and what a person should know about it. */
export interface Constructed<F extends Feature> {
  readonly feature: F;
  readonly warnings: readonly Warning[];
}

export const constructed = <F extends Feature>(
  feature: F,
  ...warnings: readonly (Warning | undefined)[]
): Constructed<F> => ({
  feature: Object.freeze(feature),
  warnings: warnings.filter((w) => w !== undefined),
});
