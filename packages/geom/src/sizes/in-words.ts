import { either } from '../text/in-words.js';
import type { ClearanceMatch, HoleAdvice } from './hole-advice.js';
import type { FitLimits, SizeLimits, Span } from './iso-286.js';
import type { SizeInClass } from './size-in-class.js';
import type { InBothUnits } from './thousandths.js';

const thou = ({ thou: x }: InBothUnits): string => x.toFixed(2);

/** `0.007 to 0.041 mm (0.28 to 1.61 thousandths of an inch)` */
const spanInWords = ({ smallest, largest }: Span): string =>
  `${smallest.mm} to ${largest.mm} mm (${thou(smallest)} to ${thou(largest)} thousandths of an inch)`;

/** `H7 of 25 mm: 25 to 25.021 mm (984.25 to 985.08 thousandths of an inch)` */
export const limitsInWords = ({ toleranceClass, nominal, smallest, largest }: SizeLimits): string =>
  `${toleranceClass} of ${nominal} mm: ${spanInWords({ smallest, largest })}`;

/** `H7/g6 of 25 mm: clearance 0.007 to 0.041 mm (0.28 to 1.61 thousandths of an inch)` */
export function fitInWords({ name, nominal, clearance, interference }: FitLimits): string {
  const parts = [
    ...(clearance ? [`clearance ${spanInWords(clearance)}`] : []),
    ...(interference ? [`interference ${spanInWords(interference)}`] : []),
  ];
  return `${name} of ${nominal} mm: ${parts.join(', or ')}`;
}

/**
 * `measured 51.99 ± 0.054 mm: within or outside, the ± does not tell; it cannot tell H7 from H9. To be sure, measure it by an
 * instrument good to ± 0.003 mm`
 */
export function sizeInClassInWords({ limits, measured, uncertainty, verdict, alike }: SizeInClass): string {
  const { toleranceClass, tolerance } = limits;
  const size = `measured ${measuredInWords(measured, uncertainty)} mm`;
  if (verdict !== 'open') return `${size}: ${verdict} ${toleranceClass}`;
  const confused = alike === undefined ? '' : `; it cannot tell ${toleranceClass} from ${alike}`;
  // Common practice: an instrument errs by no more than a tenth of what it is to judge.
  const good = Number((tolerance.mm / 10).toPrecision(1));
  const remedy =
    uncertainty! > good
      ? `. To be sure, measure it by an instrument good to ± ${good} mm`
      : '; it is right at the limit';
  return `${size}: within ${toleranceClass} or outside, the ± does not tell${confused}${remedy}`;
}

const twoDigits = (doubt: number): number => Number(doubt.toPrecision(2));

/** `25.012 ± 0.031`: as many decimals as the ± has, three without one or where it is 0. */
function measuredInWords(measured: number, uncertainty: number | undefined): string {
  if (!uncertainty) return String(Number(measured.toFixed(3)));
  const decimals = Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(uncertainty))));
  return `${Number(measured.toFixed(decimals))} ± ${twoDigits(uncertainty)}`;
}

const matchInWords = ({ thread, series, diameter, difference }: ClearanceMatch): string => {
  const off = Number(Math.abs(difference).toFixed(3));
  const side = off === 0 ? 'as measured' : `measured ${off} mm ${difference > 0 ? 'over' : 'under'} it`;
  return `${thread} ${series}, ${diameter} mm (${side})`;
};

/** Advice as lines for people, the most likely first. */
export function holeAdviceInWords(advice: HoleAdvice): string[] {
  const { uncertainty, clearance, others, thread, counterbore, tapped } = advice;
  const known = uncertainty > 0 ? `Known to ± ${twoDigits(uncertainty)} mm, i` : 'I';
  return [
    `Nearest clearance hole (ISO 273): ${matchInWords(clearance)}.`,
    ...(thread.firstChoice ? [] : [`${thread.name} is not of the first choice of ISO 261: look twice.`]),
    ...(others.length > 0 ? [`${known}t may as well be ${either(others.map(matchInWords))}.`] : []),
    ...(tapped.length > 0
      ? [
          `Tapped it would be ${either(
            tapped.map(({ name, minor }) => `${name} (minor diameter ${minor.smallest} to ${minor.largest} mm)`),
          )}.`,
        ]
      : []),
    `For ${thread.name}: drill ${clearance.diameter} mm to clear, ${thread.tapDrill} mm to tap at pitch ${thread.pitch} mm.`,
    ...(counterbore
      ? [`Counterbore for a socket head cap screw: ${counterbore.diameter} mm, ${counterbore.depth} mm deep.`]
      : []),
  ];
}
