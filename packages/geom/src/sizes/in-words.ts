import { together } from '../construct/in-words.js';
import type { ClearanceMatch, HoleAdvice } from './hole-advice.js';
import type { FitLimits, SizeLimits, Span } from './iso-286.js';
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

const matchInWords = ({ thread, series, diameter, difference }: ClearanceMatch): string => {
  const off = Number(Math.abs(difference).toFixed(3));
  const side = off === 0 ? 'as measured' : `measured ${off} mm ${difference > 0 ? 'over' : 'under'} it`;
  return `${thread} ${series}, ${diameter} mm (${side})`;
};

/** Advice as lines for people, the most likely first. */
export function holeAdviceInWords(advice: HoleAdvice): string[] {
  const { clearance, others, thread, counterbore, tapped } = advice;
  return [
    `Nearest clearance hole (ISO 273): ${matchInWords(clearance)}.`,
    ...(thread.firstChoice ? [] : [`${thread.name} is not of the first choice of ISO 261: look twice.`]),
    ...(others.length > 0 ? [`It may as well be ${together(others.map(matchInWords))}.`] : []),
    ...(tapped.length > 0
      ? [
          `Tapped it would be ${together(
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
