import { directionOf } from '../construct/roles.js';
import type { Feature } from '../feature/feature.js';
import type { Points } from '../scan/scan.js';
import type { Fit, FitOptions } from './fit.js';
import { gaussNewton } from './gauss-newton.js';
import { givenBy, type KnownOptions, type KnownValue, readKnown } from './known.js';
import { orient } from './orient.js';
import { gatherPoints } from './point-set.js';
import { fitResult } from './result.js';
import type { Shape } from './shape.js';
import { spreadOf } from './spread.js';
import { findStart } from './start.js';

export interface AssociateOptions<F extends Feature> extends FitOptions<F> {
  readonly known?: KnownOptions;
}

/**
 * Associate a shape with points by least squares (ISO 17450-1, the Gaussian criterion): what every `fit…` does. Start on a
 * sample, Gauss-Newton steps on all points until they are at rounding, then what the result says about itself.
 */
export function associate<F extends Feature>(shape: Shape<F>, points: Points, options: AssociateOptions<F>): Fit<F> {
  const known = readKnown(options.known);
  const free = freeParameters(shape, known);
  const set = gatherPoints(points, shape.kind, Math.ceil(free.length / shape.components));
  const spread = spreadOf(set);
  const { centroid: origin, size } = spread;
  const given = givenBy(known);
  const start = options.initial
    ? shape.placementOf(options.initial, origin)
    : findStart(shape, set, spread, given, free);
  const solution = gaussNewton({ shape, set, origin, size, start, free });
  const facing = given.direction ?? shape.facing ?? (options.initial && directionOf(options.initial));
  const placement = orient(shape, shape.settle(solution.placement), set, facing);
  const { iterations, converged } = solution;
  return fitResult(
    { shape, set, origin, placement, free, entered: [], rejected: new Uint32Array(0), iterations, converged },
    () => [],
  );
}

/** Places of the parameters the points decide. */
function freeParameters<F extends Feature>(shape: Shape<F>, known: readonly KnownValue[]): number[] {
  const held = new Set([...(shape.held ?? []), ...known.filter((k) => !k.prior).flatMap((k) => k.parameters)]);
  return shape.parameters.flatMap((name, place) => (held.has(name) ? [] : [place]));
}
