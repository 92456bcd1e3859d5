import { FettleError, type Warning } from '../../error.js';
import type { Ellipse, Plane, Slot } from '../../feature/feature.js';
import { growthOf, withScaleError } from '../../feature/scale-error.js';
import {
  add,
  addScaled,
  dot,
  isFiniteVec3,
  length,
  normalize,
  perpendiculars,
  scale,
  subtract,
  type Vec3,
} from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { givenText } from '../../text/number-text.js';
import { checkedOptions, refuseStrayOptions } from '../associate/options.js';
import type { Fit, FitOptions } from '../fit.js';
import { DIGITS } from '../outliers/finest-limit.js';
import { fitPlane } from '../shapes/plane.js';
import { type StepAcross, stepAlong } from '../solve/coordinate-step.js';
import { gatherPoints } from '../solve/point-set.js';
import { spreadOf } from '../solve/spread.js';
import { fewDigits, isUndithered, withDigits } from '../uncertainty/digits.js';
import { fitUncertainty } from '../uncertainty/uncertainty.js';
import { keepAllFlat, rejectAndFitFlat } from './flat-reject.js';
import { type FlatShape, MOVES } from './flat-shape.js';
import { bestStart, gather } from './flat-solve.js';

export interface FlatOptions<F extends Slot | Ellipse> extends FitOptions<F> {
  /**
   * Points are seen along this plane's normal, and the feature lies in it. Default: the least-squares plane of the
   * points.
   */
  readonly plane?: Plane;
}

/**
 * Associate a shape in a plane with points by least squares of the orthogonal distance: the best of the shape's starts,
 * on a sample, then Gauss-Newton steps on all points, damped where the sum of squares would grow.
 */
export function fitInPlane<S, F extends Slot | Ellipse>(
  shape: FlatShape<S, F>,
  points: Points,
  options: FlatOptions<F>,
): Fit<F> {
  refuseStrayOptions(shape.kind, options);
  const { reject } = checkedOptions(options);
  const { criterion = 'least-squares', scanner, noise } = options;
  if (criterion !== 'least-squares')
    throw new FettleError('bad-option', `A ${shape.kind} is fitted by least squares alone, not by ${criterion}.`);
  const set = gatherPoints(points, shape.kind, MOVES);
  const { centroid } = spreadOf(set);
  const { normal, point } = planeFor(points, options);
  const origin = addScaled(centroid, normal, dot(subtract(point, centroid), normal));
  const [u, v] = perpendiculars(normal);
  const xy = new Float64Array(2 * set.count);
  for (let i = 0; i < set.count; i++) {
    const p: Vec3 = [set.xyz[3 * i] - origin[0], set.xyz[3 * i + 1] - origin[1], set.xyz[3 * i + 2] - origin[2]];
    xy[2 * i] = dot(p, u);
    xy[2 * i + 1] = dot(p, v);
  }

  const along = stepAlong(set);
  /** Of the digits of a slot's coordinates across its sides, where these run along an axis; ellipses cross many steps. */
  const acrossSides = (state: S): StepAcross | undefined => {
    if (shape.kind !== 'slot') return undefined;
    const { ux, uy } = shape.place(state);
    return along(add(scale(u, -uy), scale(v, ux)));
  };
  const { initial } = options;
  const flat = (p: Vec3): readonly [number, number] => [dot(p, u), dot(p, v)];
  const start = initial
    ? shape.stateOf(initial, flat(subtract(initial.center, origin)), flat(initial.direction))
    : bestStart(shape, xy, reject !== undefined);
  const kept =
    reject === undefined
      ? keepAllFlat(shape, xy, start)
      : rejectAndFitFlat(shape, xy, start, reject, set.prefix, (state) => DIGITS * (acrossSides(state)?.step ?? 0));
  const { solution, places, warnings } = kept;
  const left = places ? gather(xy, places) : xy;
  const state = shape.settle(kept.state, left);
  const inSpace = (x: number, y: number): Vec3 => add(scale(u, x), scale(v, y));
  const { x, y, ux, uy } = shape.place(state);
  const [center, direction] = [add(origin, inSpace(x, y)), inSpace(ux, uy)];
  const across = inSpace(-uy, ux);
  const count = places ? places.length : set.count;
  const residuals = new Float64Array(count);
  const gradient = new Float64Array(MOVES);
  const distance = shape.tableDistance(state);
  const at = (i: number) => 2 * (places ? places[i] : i);
  let squares = 0;
  let [low, high] = [Infinity, -Infinity];
  for (let i = 0; i < count; i++) {
    const d = distance(xy[at(i)], xy[at(i) + 1], gradient);
    residuals[i] = d;
    squares += d * d;
    low = Math.min(low, d);
    high = Math.max(high, d);
  }
  const index = (i: number): number => (set.index ? set.index[i] : i);
  const used = Uint32Array.from({ length: count }, (_, i) => index(places ? places[i] : i));
  const isKept = new Set(places);
  const rejected = places
    ? Uint32Array.from(
        Array.from({ length: set.count }, (_, i) => i).filter((i) => !isKept.has(i)),
        index,
      )
    : new Uint32Array(0);
  const rms = Math.sqrt(squares / count);
  const sides = acrossSides(state);
  const cut = sides && sides.step > 0 && isUndithered(sides, rms) ? [{ ...sides, normal: across, scatter: rms }] : [];
  const feature: F = Object.freeze(shape.feature(state, center, normal, direction));
  const scattered = fitUncertainty({
    kind: shape.kind,
    positions: points.positions,
    used,
    residuals,
    parameters: MOVES,
    gradient: (i, out) => void distance(xy[at(i)], xy[at(i) + 1], out),
    at: center,
    axes: [direction, across, normal],
    reach: shape.reach(state),
    ...(scanner && { scanner }),
    ...(noise && { noise }),
  });
  const ofPoints = withDigits(scattered, cut, [0, 1, 2, 3, 4]);
  const uncertainty = Object.freeze(withScaleError(ofPoints, growthOf(feature, ofPoints), scanner));
  const { coverage, warnings: judged } = shape.judge(state, left, rms, uncertainty.covariance);
  const unfinished: Warning = {
    code: 'not-converged',
    message: `The ${shape.kind} still moved after ${solution.iterations} steps: the points hardly determine it. Do not rely on it.`,
  };
  return Object.freeze({
    feature,
    criterion,
    count,
    used,
    residuals,
    rms,
    max: Math.max(-low, high),
    form: high - low,
    rejected,
    iterations: solution.iterations,
    converged: solution.converged,
    uncertainty,
    coverage: Object.freeze(coverage),
    warnings: Object.freeze([
      ...warnings,
      ...(solution.converged ? [] : [unfinished]),
      ...judged,
      ...fewDigits(shape.kind, cut, scanner !== undefined),
    ]),
  } satisfies Fit<F>);
}

/** @throws FettleError `bad-option` */
function planeFor<F extends Slot | Ellipse>(points: Points, { plane, initial }: FlatOptions<F>): Plane {
  if (!plane)
    return initial ? { kind: 'plane', point: initial.center, normal: initial.normal } : fitPlane(points).feature;
  const { point, normal } = plane;
  if (isFiniteVec3(point) && isFiniteVec3(normal) && length(normal) > 0) return { ...plane, normal: normalize(normal) };
  throw new FettleError(
    'bad-option',
    `The plane to fit in cannot be used: its point is ${givenText(point)}, its normal ${givenText(normal)}. ` +
      'Give a finite point and a normal that is not all 0.',
  );
}
