import { inverse, Matrix } from 'ml-matrix';
import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { growthOf, withScaleError } from '../../feature/scale-error.js';
import type { ScannerAccuracy, Uncertainty } from '../../feature/uncertainty.js';
import { add, type Vec3 } from '../../math/vec3.js';
import type { ScanNoise } from '../../noise/scan-noise.js';
import { withSigns } from '../residuals/signs.js';
import { BLOCK, rowsOf, STRIDE, toLocal } from '../solve/normal-equations.js';
import type { Placement } from '../solve/placement.js';
import type { PointSet } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import type { FitForUncertainty } from './correlated-noise/fit-for-uncertainty.js';
import { fitUncertainty } from './uncertainty.js';

/** A known value as it entered a fit, by the parameter it speaks of. */
export interface Entered {
  readonly parameter: number;
  /** Standard uncertainty, mm or radians. */
  readonly standard: number;
  /** Weight it had against the points; undefined where it was taken as it stands. */
  readonly weight?: number;
}

export interface FitToTrust<F extends Feature> {
  readonly shape: Shape<F>;
  readonly set: PointSet;
  readonly origin: Vec3;
  readonly placement: Placement;
  /** One a point, mm. */
  readonly residuals: Float64Array;
  /** JᵀJ of all parameters at the placement. */
  readonly information: Float64Array;
  readonly free: readonly number[];
  readonly entered: readonly Entered[];
  readonly reach: number;
  readonly scanner?: ScannerAccuracy;
  readonly noise?: ScanNoise;
}

/** Standard uncertainty of a fit: what its points say, joined with the known values that entered it (JCGM 100, 5). */
export function resultUncertainty<F extends Feature>(fit: FitToTrust<F>): Uncertainty {
  const { shape, placement, origin, free, entered, scanner } = fit;
  const ofPoints = uncertaintyOfPoints(fit);
  const growth = growthOf(shape.featureOf(placement, origin), ofPoints);
  if (free.length === shape.parameters.length && entered.length === 0) return withScaleError(ofPoints, growth, scanner);
  const joined = {
    ...ofPoints,
    covariance: withKnown(ofPoints.covariance, fit, entered),
    // Known values draw the points' own scatter to themselves, and add nothing random of their own.
    random: withKnown(
      ofPoints.random ?? ofPoints.covariance,
      fit,
      entered.map((value) => ({ ...value, standard: 0 })),
    ),
  };
  return withScaleError(joined, growthBesideKnown(growth, fit), scanner);
}

function uncertaintyOfPoints<F extends Feature>(fit: FitToTrust<F>): Uncertainty {
  const { shape, set, origin, placement, residuals, free, reach, scanner, noise } = fit;
  const { u, v, w } = placement;
  const rowsAt = rowsOf(shape, placement, origin, set);
  const spoken =
    shape.components === 2 && shape.speaksOf
      ? shape.speaksOf.map((own) => own.filter((p) => free.includes(p)))
      : [free];
  const gradientOf =
    (component: number) =>
    (i: number, out: Float64Array): void => {
      const rows = rowsAt(i);
      out.fill(0);
      for (const p of spoken[component]) out[p] = rows[p * STRIDE + component];
    };
  const common: Omit<FitForUncertainty, 'residuals' | 'gradient'> = {
    kind: shape.kind,
    positions: set.xyz.length === 3 * set.count ? set.xyz : set.xyz.subarray(0, 3 * set.count),
    parameters: shape.parameters.length,
    at: add(origin, placement.at),
    axes: [u, v, w],
    reach,
    ...(noise && { noise }),
  };
  const told = (own: FitForUncertainty): Uncertainty => withSigns(fitUncertainty(own), own);
  if (shape.components === 1)
    return told({ ...common, residuals, gradient: gradientOf(0), ...(scanner && { scanner }) });
  // The two components of a distance speak of different parameters: their covariances add.
  const [first, second] = componentResiduals(fit);
  const one = told({ ...common, residuals: first, gradient: gradientOf(0), ...(scanner && { scanner }) });
  const two = told({ ...common, residuals: second, gradient: gradientOf(1) });
  const warnings = oncePerCode([...(one.warnings ?? []), ...(two.warnings ?? [])]);
  return {
    ...one,
    covariance: one.covariance.map((c, i) => c + two.covariance[i]),
    random: (one.random ?? one.covariance).map((c, i) => c + (two.random ?? two.covariance)[i]),
    degreesOfFreedom: Math.min(one.degreesOfFreedom, two.degreesOfFreedom),
    ...(warnings.length > 0 && { warnings }),
  };
}

const oncePerCode = (warnings: readonly Warning[]): Warning[] =>
  warnings.filter(({ code }, i) => warnings.findIndex((other) => other.code === code) === i);

function componentResiduals<F extends Feature>({ shape, set, origin, placement }: FitToTrust<F>): Float64Array[] {
  const both = [new Float64Array(set.count), new Float64Array(set.count)];
  const [x, y, z] = [new Float64Array(BLOCK), new Float64Array(BLOCK), new Float64Array(BLOCK)];
  const distances = shape.parameters.length * STRIDE;
  const rows = new Float64Array(distances + STRIDE);
  for (let from = 0; from < set.count; from += BLOCK) {
    const count = Math.min(BLOCK, set.count - from);
    toLocal(set.xyz, from, count, placement, origin, x, y, z);
    shape.fillRows(x, y, z, count, rows, placement.radius, placement.halfAngle);
    both[0].set(rows.subarray(distances, distances + count), from);
    both[1].set(rows.subarray(distances + count, distances + 2 * count), from);
  }
  return both;
}

/** How the free parameters answer to the points: their information, and its inverse with what known values weigh. */
function freeAnswer<F extends Feature>({ shape, information, free, entered }: FitToTrust<F>) {
  const m = shape.parameters.length;
  const all = matrixOf(information, m);
  const own = all.selection([...free], [...free]);
  const weighed = own.clone();
  for (const { parameter, weight } of entered) {
    const i = free.indexOf(parameter);
    if (weight !== undefined) weighed.set(i, i, weighed.get(i, i) + weight);
  }
  return { all, own, solved: inverse(weighed) };
}

const matrixOf = (rows: Float64Array, m: number): Matrix =>
  new Matrix(Array.from({ length: m }, (_, i) => Array.from(rows.subarray(i * m, (i + 1) * m))));

/** Growth with the scan's scale where values are known: those are not the scan's, and the free parameters follow the larger points. */
function growthBesideKnown<F extends Feature>(growth: Float64Array, fit: FitToTrust<F>): Float64Array {
  const { shape, free } = fit;
  const found = new Float64Array(growth.length);
  if (free.length === 0) return found;
  const { all, solved } = freeAnswer(fit);
  const every = shape.parameters.map((_, p) => p);
  const pull = all.selection([...free], every).mmul(Matrix.columnVector(Array.from(growth)));
  const answer = solved.mmul(pull);
  free.forEach((p, i) => {
    found[p] = answer.get(i, 0);
  });
  return found;
}

/**
 * The covariance of all parameters, from what the points alone say of the free ones and from the known values.
 * A prior draws the free parameters to itself by its weight; a value that stood as given carries its own error into those that
 * go with it.
 */
function withKnown<F extends Feature>(
  covariance: Float64Array,
  fit: FitToTrust<F>,
  entered: readonly Entered[],
): Float64Array {
  const { shape, free } = fit;
  const m = shape.parameters.length;
  const of = (matrix: Matrix, r: readonly number[], c: readonly number[]): Matrix => matrix.selection([...r], [...c]);
  const points = matrixOf(covariance, m);
  const result = Matrix.zeros(m, m);
  if (free.length === 0) return Float64Array.from(result.to1DArray());
  const { all, own, solved } = freeAnswer({ ...fit, entered });
  const priors = entered.flatMap(({ weight, ...prior }) => (weight === undefined ? [] : [{ ...prior, weight }]));
  const drawn = solved.mmul(own);
  let joint: Matrix = drawn.mmul(of(points, free, free)).mmul(drawn.transpose());
  for (const { parameter, weight, standard } of priors) {
    const pull = solved.getColumnVector(free.indexOf(parameter)).mul(weight * standard);
    joint = Matrix.add(joint, pull.mmul(pull.transpose()));
  }
  for (const { parameter, standard, weight } of entered) {
    if (weight !== undefined) continue;
    const carried = solved.mmul(of(all, free, [parameter])).mul(-standard);
    joint = Matrix.add(joint, carried.mmul(carried.transpose()));
    free.forEach((p, i) => {
      result.set(p, parameter, standard * carried.get(i, 0));
      result.set(parameter, p, standard * carried.get(i, 0));
    });
    result.set(parameter, parameter, standard * standard);
  }
  free.forEach((p, i) => {
    free.forEach((q, j) => {
      result.set(p, q, joint.get(i, j));
    });
  });
  return Float64Array.from(result.to1DArray());
}
