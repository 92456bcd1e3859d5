import type { Warning } from '../error.js';
import type { Feature } from '../feature/feature.js';
import { demandFinite } from './finite.js';

/** A feature made from features, and what a person should know about it. */
export interface Constructed<F extends Feature> {
  readonly feature: F;
  readonly warnings: readonly Warning[];
}

/** @throws FettleError `not-finite` */
export function constructed<F extends Feature>(
  feature: F,
  ...warnings: readonly (Warning | undefined)[]
): Constructed<F> {
  demandFinite(
    `The ${feature.kind}`,
    Object.values(feature)
      .flat()
      .filter((x) => typeof x === 'number'),
  );
  return { feature: Object.freeze(feature), warnings: warnings.filter((w) => w !== undefined) };
}
