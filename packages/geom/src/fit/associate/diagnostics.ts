import { FettleError, type Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import { degreesInWords } from '../../text/in-words.js';
import { countText, lengthText } from '../../text/number-text.js';
import { freePart } from '../solve/gauss-newton.js';
import type { Parameter } from '../solve/placement.js';
import { cutOff, fewDigits } from '../uncertainty/digits.js';
import type { Evidence } from '../uncertainty/result.js';

/** Radii known so many times less well than from the whole shape get a warning: a 90° arc is at 10. */
const WEAK = 10;
/** Of such radii: ± more than this share is no radius at all, less than that share harms nobody (both by common practice). */
const NO_RADIUS = 0.01;
const HARMLESS = 1e-4;
/** Cylinders shorter than this share of their diameter hardly show their axis. */
const SHORT = 0.25;
/** Half-angles nearer than this to 0 and 90° are rounding, radians. */
const EXACT = 1e-9;
/** Residuals (rms) of more than this share of the radius. */
const ROUGH = 0.15;
/** Radii so many times the points' extent are those of flat points. */
const FLAT = 1e5;
/** Smallest eigenvalue of the scaled information that still means something. */
const LEAST_INFORMATION = 1e-13;

/**
 * What a person should know of a fit before relying on it: a named warning where the points carry a parameter poorly.
 *
 * @throws FettleError `fit-undetermined`, `radius-undetermined`, `cone-without-taper` where they do not carry it at all
 */
export function judge<F extends Feature>(evidence: Evidence<F>): Warning[] {
  const { shape, set, information, free, converged } = evidence;
  const m = shape.parameters.length;
  if (free.length === 0) return [];
  if (shape.kind === 'cone') refuseNoTaper(evidence);
  const part = freePart(information, m, free);
  const inverse = scaledCholesky(part, free.length)?.inverse();
  if (isRound(evidence) && evidence.placement.radius > FLAT * extentOf(evidence)) throw flat(evidence);
  if (!inverse || leastScaledEigenvalue(part, free.length) < LEAST_INFORMATION) {
    throw new FettleError(
      'fit-undetermined',
      `${set.prefix}These ${countText(set.count)} points do not determine a ${shape.kind}: several lie equally near ` +
        'them. Choose a region that shows more of it, or give what is known by hand.',
    );
  }
  /** How many times the noise of one mean of all points a free parameter has; undefined for one that is not free. */
  const spreadOf = (name: Parameter): number | undefined => {
    const i = free.indexOf(shape.parameters.indexOf(name));
    return i < 0 ? undefined : Math.sqrt(inverse[i * (free.length + 1)] * set.count);
  };
  const warnings: (Warning | undefined)[] = [
    converged ? undefined : notConverged(evidence),
    isRound(evidence) ? weakRadius(evidence, spreadOf('radius')) : undefined,
    isRound(evidence) ? rough(evidence) : undefined,
    shape.kind === 'cylinder' ? shortAxis(evidence, spreadOf('tilt-u')) : undefined,
    shape.kind === 'cone' ? noTaper(evidence, spreadOf('half-angle')) : undefined,
    ...lostDigits(evidence),
  ];
  return warnings.filter((warning) => warning !== undefined);
}

const isRound = <F extends Feature>({ shape }: Evidence<F>): boolean =>
  shape.kind === 'circle' || shape.kind === 'sphere' || shape.kind === 'cylinder';

/** ± of one parameter, coverage factor 2. */
function expanded<F extends Feature>({ shape, uncertainty }: Evidence<F>, name: Parameter): number {
  const p = shape.parameters.indexOf(name);
  return 2 * Math.sqrt(uncertainty().covariance[p * (shape.parameters.length + 1)]);
}

function notConverged<F extends Feature>({ shape, iterations }: Evidence<F>): Warning {
  return {
    code: 'not-converged',
    message: `The ${shape.kind} still moved after ${iterations} steps: the points hardly determine it. Do not rely on it.`,
  };
}

/** `A 40° arc`, `An 85° cap` */
function arcInWords(arc: number, what: 'arc' | 'cap'): string {
  const degrees = `${Number(((arc * 180) / Math.PI).toPrecision(2))}`;
  return `${/^(8|11$|18$)/.test(degrees) ? 'An' : 'A'} ${degrees}° ${what}`;
}

function weakRadius<F extends Feature>(evidence: Evidence<F>, times: number | undefined): Warning | undefined {
  const { shape, set, seen, placement, entered, rms } = evidence;
  const isGiven = entered.some(({ parameter }) => shape.parameters[parameter] === 'radius');
  if (times === undefined || isGiven || !(times > WEAK)) return undefined;
  const { arc = 0 } = shape.coverage(seen);
  const what = arcInWords(arc, shape.kind === 'sphere' ? 'cap' : 'arc');
  const whole = shape.kind === 'sphere' ? 'the whole sphere' : 'the full circle';
  const next = 'Give the radius by hand, or choose a region that shows more of it.';
  const plusMinus = expanded(evidence, 'radius');
  const found = `${withPlusMinus(placement.radius, plusMinus)} (k = 2)`;
  if ((2 * times * rms) / Math.sqrt(set.count) > placement.radius) {
    throw new FettleError('radius-undetermined', `${set.prefix}${what} does not carry a radius: ${found}. ${next}`);
  }
  const share = plusMinus / placement.radius;
  if (share < HARMLESS) return undefined;
  const often = `${countText(times >= 100 ? Math.round(times) : Number(times.toPrecision(2)))} times`;
  return {
    code: 'weak-radius',
    message:
      share > NO_RADIUS
        ? `${what} does not carry a radius: ${found}, ${often} as uncertain as from ${whole}. ${next}`
        : `${what} tells the radius ${often} less well than ${whole} would: ${found}. Where that is too little: ` +
          'give the radius by hand, or choose a region that shows more of it.',
  };
}

/** `10.98 ± 0.12 mm`: the uncertainty to two digits, the value to as many places. */
function withPlusMinus(value: number, plusMinus: number): string {
  if (!(plusMinus > 0)) return lengthText(value);
  const places = Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(plusMinus))));
  return `${value.toFixed(places)} ± ${plusMinus.toFixed(places)} mm`;
}

/** Residuals that are a large part of the radius do not speak of a round shape. */
function rough<F extends Feature>({ shape, placement, rms }: Evidence<F>): Warning | undefined {
  if (!(rms > ROUGH * placement.radius)) return undefined;
  return {
    code: 'rough-fit',
    message:
      `The residuals, ${lengthText(rms)} rms, are ${Math.round((100 * rms) / placement.radius)} % of the radius, ` +
      `${lengthText(placement.radius)}: these points hardly show a ${shape.kind}. Look whether the region is the right one.`,
  };
}

function shortAxis<F extends Feature>(evidence: Evidence<F>, tilt: number | undefined): Warning | undefined {
  const { shape, seen, placement } = evidence;
  const { length = 0 } = shape.coverage(seen);
  const diameter = 2 * placement.radius;
  if (tilt === undefined || length > SHORT * diameter) return undefined;
  const plusMinus = Math.max(expanded(evidence, 'tilt-u'), expanded(evidence, 'tilt-v'));
  return {
    code: 'weak-direction',
    message:
      `${lengthText(length)} of length on a diameter of ${lengthText(diameter)} hardly carries an axis: its direction is known to ` +
      `± ${degreesInWords(plusMinus)} (k = 2). Give the direction by a datum, or choose a longer region.`,
  };
}

function refuseNoTaper<F extends Feature>({ placement, set }: Evidence<F>): void {
  const { halfAngle } = placement;
  const other = halfAngle < EXACT ? 'cylinder' : halfAngle > Math.PI / 2 - EXACT ? 'plane' : undefined;
  if (!other) return;
  throw new FettleError(
    'cone-without-taper',
    `${set.prefix}The points lie on a ${other}: a cone through them has no apex. Fit a ${other}.`,
  );
}

function noTaper<F extends Feature>(evidence: Evidence<F>, times: number | undefined): Warning | undefined {
  const { placement, rms, set } = evidence;
  // Noise that is not correlated gives the least there can be: far above it the question does not arise.
  if (times === undefined || placement.halfAngle > (200 * times * rms) / Math.sqrt(set.count)) return undefined;
  const plusMinus = expanded(evidence, 'half-angle');
  if (placement.halfAngle > plusMinus) return undefined;
  return {
    code: 'weak-taper',
    message:
      `The half-angle, ${degreesInWords(placement.halfAngle)}, is less than its own uncertainty, ± ${degreesInWords(plusMinus)} ` +
      '(k = 2): as far as these points tell this is a cylinder. Its apex means nothing.',
  };
}

function lostDigits<F extends Feature>({ shape, set, placement, origin, scanner, free }: Evidence<F>): Warning[] {
  // With nothing left over the points are said to tell no noise already.
  if (set.count * shape.components <= free.length) return [];
  return fewDigits(shape.kind, cutOff(shape, set, placement, origin), (scanner?.accuracy ?? 0) > 0);
}

function extentOf<F extends Feature>({ seen }: Evidence<F>): number {
  let low: [number, number] = [Infinity, Infinity];
  let high: [number, number] = [-Infinity, -Infinity];
  for (let i = 0; i < seen.count; i++) {
    low = [Math.min(low[0], seen.x[i]), Math.min(low[1], seen.y[i])];
    high = [Math.max(high[0], seen.x[i]), Math.max(high[1], seen.y[i])];
  }
  return Math.hypot(high[0] - low[0], high[1] - low[1]);
}

const flat = <F extends Feature>({ shape, set }: Evidence<F>): FettleError =>
  new FettleError(
    'radius-undetermined',
    `${set.prefix}The points are flat or straight: a ${shape.kind} through them has no radius. ` +
      `${shape.kind === 'circle' ? 'Fit a line' : 'Fit a plane'}, or give the radius by hand.`,
  );

function leastScaledEigenvalue(matrix: Float64Array, n: number): number {
  const scaled = matrix.map((a, k) => a / Math.sqrt(matrix[Math.floor(k / n) * (n + 1)] * matrix[(k % n) * (n + 1)]));
  return symmetricEigen(scaled, n).values[0];
}
