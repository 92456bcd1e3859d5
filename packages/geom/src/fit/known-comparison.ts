import { degreesInWords } from '../construct/in-words.js';
import type { Warning } from '../error.js';
import { angleBetween, dot, negate, type Vec3 } from '../math/vec3.js';
import { lengthText } from '../scan/number-text.js';
import type { KnownComparison } from './fit.js';
import type { KnownValue } from './known.js';
import type { Parameter, Placement } from './placement.js';
import type { Uncertainty } from './uncertainty.js';

/** What the points alone say, with nothing known. */
export interface FreeFit {
  readonly placement: Placement;
  readonly parameters: readonly Parameter[];
  readonly uncertainty: Uncertainty;
}

/** Differences below this share of the value are rounding. */
const ROUNDING = 1e-9;

export function compareKnown({ name, value, standard, prior }: KnownValue, free: FreeFit): KnownComparison {
  if (typeof value === 'number') {
    const own = name === 'radius' ? free.placement.radius : free.placement.halfAngle;
    const variance = varianceOf(free, name === 'radius' ? 'radius' : 'half-angle');
    return compared(name, prior, value, own, own - value, Math.sqrt(variance + standard ** 2), ROUNDING * value);
  }
  const { u, v, w } = free.placement;
  const side = dot(w, value) < 0 ? -1 : 1;
  const own = side < 0 ? negate(w) : w;
  const angle = angleBetween(own, value);
  // Along the way from one direction to the other.
  const [a, b] = [dot(value, u), dot(value, v)];
  const long = Math.hypot(a, b);
  const [eu, ev] = long > 0 ? [a / long, b / long] : [Math.SQRT1_2, Math.SQRT1_2];
  const variance =
    eu * eu * varianceOf(free, 'tilt-u') +
    2 * eu * ev * covarianceOf(free, 'tilt-u', 'tilt-v') +
    ev * ev * varianceOf(free, 'tilt-v');
  return compared(name, prior, value, own, angle, Math.sqrt(Math.max(0, variance) + standard ** 2), ROUNDING);
}

function compared(
  name: KnownComparison['name'],
  prior: boolean,
  given: number | Vec3,
  free: number | Vec3,
  difference: number,
  uncertainty: number,
  rounding: number,
): KnownComparison {
  const multiples = Math.abs(difference) <= rounding ? 0 : Math.abs(difference) / uncertainty;
  return Object.freeze({ name, prior, given, free, difference, uncertainty, multiples });
}

const varianceOf = (free: FreeFit, name: Parameter): number => covarianceOf(free, name, name);

const covarianceOf = ({ parameters, uncertainty }: FreeFit, a: Parameter, b: Parameter): number =>
  uncertainty.covariance[parameters.indexOf(a) * parameters.length + parameters.indexOf(b)];

/**
 * A given value past two multiples of the combined uncertainty, in words.
 *
 * @param size how a radius was given, and so is told
 */
export function warnOf(comparison: KnownComparison, size: 'radius' | 'diameter' = 'radius'): Warning | undefined {
  const { name, given, free, difference, uncertainty, multiples } = comparison;
  if (!(multiples > 2)) return undefined;
  const next = 'Measure again, and check that both speak of the same place.';
  if (name === 'radius') {
    const times = size === 'radius' ? 1 : 2;
    const doubt = times * uncertainty;
    const told = (mm: number) => lengthText(Number((times * mm).toFixed(doubt > 0 ? decimalsFor(doubt) : 9)));
    return {
      code: 'known-disagrees',
      message:
        `The ${size} given, ${lengthText(times * (given as number))}, and that of the points alone, ${told(free as number)}, differ ` +
        `by ${told(Math.abs(difference))}${beyond(multiples, lengthText(Number(doubt.toPrecision(2))))}. ${next}`,
    };
  }
  const what = { halfAngle: 'half-angle', direction: 'direction', plane: 'plane' }[name];
  return {
    code: 'known-disagrees',
    message:
      `The ${what} given and that of the points alone differ by ${degreesInWords(Math.abs(difference))}` +
      `${beyond(multiples, degreesInWords(uncertainty))}. ${next}`,
  };
}

const decimalsFor = (doubt: number): number => Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(doubt))));

/** How far past its uncertainty a difference is, as words that follow it. Of an uncertainty at rounding no multiples are told. */
export const beyond = (multiples: number, uncertainty: string): string =>
  multiples >= 1e4
    ? ', far more than their uncertainties allow'
    : `: ${multiples.toPrecision(2)} times their combined standard uncertainty of ${uncertainty}`;
