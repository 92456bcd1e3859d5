import type { Warning } from '../../error.js';
import type { Uncertainty } from '../../feature/uncertainty.js';
import { jointFactor } from '../../math/distributions.js';
import { angleBetween, dot, negate, type Vec3 } from '../../math/vec3.js';
import { degreesInWords } from '../../text/in-words.js';
import { lengthText } from '../../text/number-text.js';
import type { KnownComparison } from '../fit.js';
import type { Parameter, Placement } from '../solve/placement.js';
import { expandedNumber } from '../uncertainty/expanded.js';
import type { KnownValue } from './known.js';

/** What the points alone say, with nothing known. */
export interface FreeFit {
  readonly placement: Placement;
  readonly parameters: readonly Parameter[];
  readonly uncertainty: Uncertainty;
}

/** Differences below this share of the value are rounding. */
const ROUNDING = 1e-9;

/** A stated ± has the coverage factor 2. */
const STATED = 2;
const CONFIDENCE = 0.95;

export function compareKnown({ name, value, standard, prior }: KnownValue, free: FreeFit): KnownComparison {
  if (typeof value === 'number') {
    const own = name === 'radius' ? free.placement.radius : free.placement.halfAngle;
    const parameter = name === 'radius' ? 'radius' : 'half-angle';
    const uncertainty = Math.sqrt(varianceOf(free, parameter) + standard ** 2);
    const random = Math.sqrt(randomOf(free, parameter, parameter));
    const { degreesOfFreedom } = free.uncertainty;
    const factor = Math.max(STATED, expandedNumber({ standard: uncertainty, random, degreesOfFreedom }).factor);
    return compared(
      { name, prior, given: value, free: own, difference: own - value, uncertainty, factor },
      ROUNDING * value,
    );
  }
  const { w } = free.placement;
  const own = dot(w, value) < 0 ? negate(w) : w;
  const difference = angleBetween(own, value);
  return compared(
    { name, prior, given: value, free: own, difference, ...turnBetween(value, standard, free) },
    ROUNDING,
  );
}

/**
 * How far two directions may be apart: they differ in two angles at once, so that the ellipse which holds both with 95 % decides, see
 * {@link jointFactor}, not one of them alone. `uncertainty` is its half-width along the way from one direction to the other over
 * `factor`.
 */
function turnBetween(value: Vec3, standard: number, free: FreeFit): { uncertainty: number; factor: number } {
  const { u, v } = free.placement;
  const [a, b] = [dot(value, u), dot(value, v)];
  const long = Math.hypot(a, b);
  const [eu, ev] = long > 0 ? [a / long, b / long] : [Math.SQRT1_2, Math.SQRT1_2];
  const along = (of: typeof covarianceOf) =>
    Math.max(
      0,
      eu * eu * of(free, 'tilt-u', 'tilt-u') +
        2 * eu * ev * of(free, 'tilt-u', 'tilt-v') +
        ev * ev * of(free, 'tilt-v', 'tilt-v'),
    );
  const whole = along(covarianceOf) + standard ** 2;
  const [uu, vv] = [varianceOf(free, 'tilt-u') + standard ** 2, varianceOf(free, 'tilt-v') + standard ** 2];
  const uv = covarianceOf(free, 'tilt-u', 'tilt-v');
  const determinant = uu * vv - uv * uv;
  const inverse = vv * eu * eu - 2 * uv * eu * ev + uu * ev * ev;
  const { degreesOfFreedom } = expandedNumber({
    standard: Math.sqrt(whole),
    random: Math.sqrt(along(randomOf)),
    degreesOfFreedom: free.uncertainty.degreesOfFreedom,
  });
  return {
    uncertainty: Math.sqrt(determinant > 0 && inverse > 0 ? determinant / inverse : whole),
    factor: jointFactor(CONFIDENCE, 2, degreesOfFreedom),
  };
}

function compared(found: Omit<KnownComparison, 'multiples'>, rounding: number): KnownComparison {
  const { difference, uncertainty } = found;
  const multiples = Math.abs(difference) <= rounding ? 0 : Math.abs(difference) / uncertainty;
  return Object.freeze({ ...found, multiples });
}

const varianceOf = (free: FreeFit, name: Parameter): number => covarianceOf(free, name, name);

const covarianceOf = ({ parameters, uncertainty }: FreeFit, a: Parameter, b: Parameter): number =>
  uncertainty.covariance[parameters.indexOf(a) * parameters.length + parameters.indexOf(b)];

/** The part of it that comes from the residuals. */
const randomOf = ({ parameters, uncertainty }: FreeFit, a: Parameter, b: Parameter): number =>
  (uncertainty.random ?? uncertainty.covariance)[parameters.indexOf(a) * parameters.length + parameters.indexOf(b)];

/**
 * A given value that is off by more than the difference's own ± of 95 %, in words.
 *
 * @param size how a radius was given, and so is told
 */
export function warnOf(comparison: KnownComparison, size: 'radius' | 'diameter' = 'radius'): Warning | undefined {
  const { name, given, free, difference, uncertainty, multiples, factor } = comparison;
  if (!(multiples > factor)) return undefined;
  const next = 'Measure again, and check that both speak of the same place.';
  if (name === 'radius') {
    const times = size === 'radius' ? 1 : 2;
    const doubt = times * uncertainty;
    const told = (mm: number) => lengthText(Number((times * mm).toFixed(doubt > 0 ? decimalsFor(doubt) : 9)));
    return {
      code: 'known-disagrees',
      message:
        `The ${size} given, ${lengthText(times * (given as number))}, and that of the points alone, ${told(free as number)}, differ ` +
        `by ${told(Math.abs(difference))}${beyond(multiples, factor, lengthText(Number(doubt.toPrecision(2))))}. ${next}`,
    };
  }
  const what = { halfAngle: 'half-angle', direction: 'direction', plane: 'plane' }[name];
  return {
    code: 'known-disagrees',
    message:
      `The ${what} given and that of the points alone differ by ${degreesInWords(Math.abs(difference))}` +
      `${beyond(multiples, factor, degreesInWords(uncertainty))}. ${next}`,
  };
}

const decimalsFor = (doubt: number): number => Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(doubt))));

/** How far past its uncertainty a difference is, as words that follow it. Of an uncertainty at rounding no multiples are told. */
export const beyond = (multiples: number, factor: number, uncertainty: string): string =>
  multiples >= 1e4
    ? ', far more than their uncertainties allow'
    : `: ${multiples.toPrecision(2)} times their combined standard uncertainty of ${uncertainty}. Up to ${factor.toFixed(1)} times they would agree`;

/** `1.2 combined standard uncertainties, no more than the 2.1 of 95 %: they agree` */
export function multiplesInWords(multiples: number, factor: number): string {
  const times = multiples >= 1e6 ? 'more than a million' : multiples.toFixed(1);
  const [how, verdict] = multiples > factor ? ['more', 'disagree'] : ['no more', 'agree'];
  return `${times} combined standard uncertainties, ${how} than the ${factor.toFixed(1)} of 95 %: they ${verdict}`;
}
