import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { directionOf } from '../../feature/roles.js';
import { dot, subtract, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import type { Fit, FitOptions, KnownComparison } from '../fit.js';
import { givenBy, type KnownOptions, type KnownValue, readKnown } from '../known/known.js';
import { compareKnown, warnOf } from '../known/known-comparison.js';
import { priorsFor } from '../known/prior.js';
import { consensus } from '../outliers/consensus.js';
import { type Kept, rejectAndFit } from '../outliers/reject.js';
import { gaussNewton, type Prior } from '../solve/gauss-newton.js';
import { orient } from '../solve/orient.js';
import type { Placement } from '../solve/placement.js';
import { gatherPoints, type PointSet } from '../solve/point-set.js';
import type { Given, Shape } from '../solve/shape.js';
import { solveKeeping } from '../solve/solve-keeping.js';
import { negated, type Solved } from '../solve/solved.js';
import { type Spread, spreadOf } from '../solve/spread.js';
import { findStart } from '../solve/start.js';
import { type Evidence, evidenceOf, fitResult } from '../uncertainty/result.js';
import type { Entered } from '../uncertainty/result-uncertainty.js';
import { checkedCriterion, fitByExtremes } from './by-extremes.js';
import { judge } from './diagnostics.js';
import { checkedOptions, refuseStrayOptions } from './options.js';

/** Points from which on passes are spared. */
const LARGE = 20_000;

export interface AssociateOptions<F extends Feature> extends FitOptions<F> {
  readonly known?: KnownOptions;
}

/**
 * Associate a shape with points by least squares (ISO 17450-1, the Gaussian criterion): what every `fit…` does. Start on a
 * sample, Gauss-Newton steps on all points until they are at rounding, then what the result says about itself.
 */
export function associate<F extends Feature>(shape: Shape<F>, points: Points, options: AssociateOptions<F>): Fit<F> {
  refuseStrayOptions(shape.kind, options);
  const { reject } = checkedOptions(options);
  const { initial, scanner, noise } = options;
  const known = readKnown(shape.kind, options.known);
  const criterion = checkedCriterion(shape.kind, options, known);
  const given = givenBy(known.filter((value) => !value.prior));
  const free = freeParameters(shape, known);
  const all = gatherPoints(points, shape.kind, leastPoints(shape, free));
  const whole = spreadOf(all);
  const start = startOf(shape, all, whole, given, free, options);
  const facing = given.direction ?? shape.facing ?? facingOf(initial);
  const isFree = reject === undefined && !initial && free.length === shape.parameters.length;
  const finished = isFree ? shape.finish?.(all, whole, orient(shape, start.placement, all, facing)) : undefined;
  const { set, rejected, solution, warnings } =
    reject === undefined
      ? keepAll(all, finished ?? solve(shape, all, whole, start.placement, free))
      : rejectAndFit(shape, all, whole, start.placement, free, reject, start.scale);

  const spread = rejected.length > 0 ? spreadOf(set) : whole;
  const look = (done: Solved, entered: readonly Entered[]): Evidence<F> => {
    const settled = shape.settle(done.placement);
    const placement = orient(shape, settled, set, facing);
    const isTurned = dot(settled.w, placement.w) < 0;
    return evidenceOf({
      shape,
      set,
      origin: spread.centroid,
      placement,
      free,
      entered,
      rejected,
      iterations: done.iterations,
      converged: done.converged,
      ...(scanner && { scanner }),
      ...(noise && { noise }),
      ...(done.residuals && { residuals: isTurned ? negated(done.residuals) : done.residuals }),
    });
  };
  let evidence = look(from(solution, whole, spread), entriesOf(shape, known));
  const weighed = known.filter((value) => value.prior);
  if (weighed.length > 0) {
    const priors = priorsFor(shape, weighed, evidence);
    evidence = look(solve(shape, set, spread, evidence.placement, free, priors), entriesOf(shape, known, priors));
  }
  const judged = judge(evidence);
  if (criterion) return fitByExtremes(evidence, criterion, options.trim, [...warnings, ...judged]);
  if (known.length === 0) return fitResult(evidence, [...warnings, ...judged]);
  const { comparisons, unchecked } = compareAll(evidence, spread, known);
  const disagreements = comparisons.map((comparison) => warnOf(comparison)).filter((warning) => warning !== undefined);
  return fitResult(evidence, [...warnings, ...judged, ...disagreements, ...unchecked], comparisons);
}

/** Where to start, and with what scale of residuals where that is known. */
function startOf<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  spread: Spread,
  given: Given,
  free: readonly number[],
  options: FitOptions<F>,
): { readonly placement: Placement; readonly scale?: number } {
  const { reject, robust } = checkedOptions(options);
  if (options.initial) return { placement: shape.placementOf(options.initial, spread.centroid) };
  if (robust && reject !== undefined) return consensus(shape, set, spread, given, free, reject);
  return { placement: findStart(shape, set, spread, given, free) };
}

/** Places of the parameters the points decide, alone or beside priors. */
function freeParameters<F extends Feature>(shape: Shape<F>, known: readonly KnownValue[]): number[] {
  const held = new Set([...(shape.held ?? []), ...known.filter((k) => !k.prior).flatMap((k) => k.parameters)]);
  return shape.parameters.flatMap((name, place) => (held.has(name) ? [] : [place]));
}

const leastPoints = <F extends Feature>(shape: Shape<F>, free: readonly number[]): number =>
  Math.max(1, Math.ceil(free.length / shape.components));

const solve = <F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  { centroid: origin, size }: Spread,
  start: Placement,
  free: readonly number[],
  priors: readonly Prior[] = [],
): Solved => {
  const problem = { set, origin, size, start, free };
  const isLarge = set.count > LARGE && priors.length === 0;
  return isLarge ? solveKeeping(shape, problem) : gaussNewton({ ...problem, shape, priors });
};

const keepAll = (set: PointSet, solution: Solved): Kept => ({
  set,
  solution,
  rejected: new Uint32Array(0),
  warnings: [],
});

const facingOf = (initial: Feature | undefined): Vec3 | undefined =>
  initial && initial.kind !== 'sphere' ? directionOf(initial) : undefined;

/** The same solution seen from the centroid of the points kept. */
const from = (solution: Solved, before: Spread, after: Spread): Solved => {
  const { placement } = solution;
  const at = subtract(placement.at, subtract(after.centroid, before.centroid));
  return { ...solution, placement: { ...placement, at } };
};

/** Known values by the parameters they entered. */
function entriesOf<F extends Feature>(
  shape: Shape<F>,
  known: readonly KnownValue[],
  priors: readonly Prior[] = [],
): Entered[] {
  const placeOf = (name: KnownValue['parameters'][number]): number => shape.parameters.indexOf(name);
  return known.flatMap(({ prior, standard, parameters }) =>
    parameters.flatMap((name): Entered[] => {
      const parameter = placeOf(name);
      const weight = priors.find((p) => p.parameter === parameter)?.weight;
      if (prior) return weight === undefined ? [] : [{ parameter, standard, weight }];
      return standard > 0 ? [{ parameter, standard }] : [];
    }),
  );
}

/** Known values beside the fit with nothing known. */
function compareAll<F extends Feature>(
  evidence: Evidence<F>,
  spread: Spread,
  known: readonly KnownValue[],
): { comparisons: KnownComparison[]; unchecked: Warning[] } {
  const { set, origin, placement, scanner, noise } = evidence;
  const shape = evidence.shape.freed ?? evidence.shape;
  const free = freeParameters(shape, []);
  const solution = set.count > leastPoints(shape, free) ? freeSolution(shape, set, spread, placement, free) : undefined;
  if (!solution) {
    const names = known.map(({ name }) => name).join(' and ');
    const message = `The points alone do not determine a ${shape.kind}: the ${names} given cannot be checked against them.`;
    return { comparisons: [], unchecked: [{ code: 'known-unchecked', message }] };
  }
  const own = evidenceOf({
    shape,
    set,
    origin,
    placement: shape.settle(solution.placement),
    free,
    entered: [],
    rejected: evidence.rejected,
    iterations: solution.iterations,
    converged: solution.converged,
    ...(scanner && { scanner }),
    ...(noise && { noise }),
  });
  const freely = { placement: own.placement, parameters: shape.parameters, uncertainty: own.uncertainty() };
  return { comparisons: known.map((value) => compareKnown(value, freely)), unchecked: [] };
}

function freeSolution<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  spread: Spread,
  start: Placement,
  free: readonly number[],
): Solved | undefined {
  const near = solve(shape, set, spread, start, free);
  if (near.converged) return near;
  const again = solve(shape, set, spread, findStart(shape, set, spread, {}, free), free);
  return again.converged ? again : undefined;
}
