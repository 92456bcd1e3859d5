import { FettleError } from '../error.js';
import { nearest } from '../math/nearest.js';
import { HOLE_LETTERS, holeDeviations, SHAFT_LETTERS, shaftDeviations } from './iso-286-deviations.js';
import { GRADES, type Grade } from './iso-286-grades.js';
import { type InBothUnits, inBothUnits } from './thousandths.js';

/** The limits a tolerance class sets to a size. */
export interface SizeLimits {
  /** `H7` */
  readonly toleranceClass: string;
  readonly of: 'hole' | 'shaft';
  /** mm */
  readonly nominal: number;
  /** Limit deviations from the nominal size, signed. */
  readonly lower: InBothUnits;
  readonly upper: InBothUnits;
  readonly smallest: InBothUnits;
  readonly largest: InBothUnits;
  /** largest − smallest */
  readonly tolerance: InBothUnits;
}

/** From the least to the most that limits allow; neither is below 0. */
export interface Span {
  readonly smallest: InBothUnits;
  readonly largest: InBothUnits;
}

/** What a hole and a shaft of one nominal size do together. */
export interface FitLimits {
  /** `H7/g6` */
  readonly name: string;
  readonly kind: 'clearance' | 'transition' | 'interference';
  readonly nominal: number;
  readonly hole: SizeLimits;
  readonly shaft: SizeLimits;
  /** On diameter; absent where there never is any. Of a transition fit the smallest is 0. */
  readonly clearance?: Span;
  readonly interference?: Span;
}

const letters = [...HOLE_LETTERS, ...SHAFT_LETTERS];

/**
 * Limits of size of a tolerance class after ISO 286-1:2010: `limitsOf('H7', 25)` is 25 to 25.021 mm. Capital letters are holes: D to H, JS,
 * K, M, N, P, R, S; small ones shafts: d to h, js, k, m, n, p, r, s; grades 01, 0, 1 to 18.
 *
 * @param nominal mm, up to 500; a size at the bound of two ranges belongs to the lower
 * @throws FettleError `unknown-class` with the nearest one; `size-out-of-range`; `class-not-given` where the standard has none
 */
export function limitsOf(toleranceClass: string, nominal: number): SizeLimits {
  const { letter, grade } = parsed(toleranceClass);
  const isHole = HOLE_LETTERS.includes(letter);
  const { lower, upper } = (isHole ? holeDeviations : shaftDeviations)(letter, grade, nominal);
  return {
    toleranceClass: letter + grade,
    of: isHole ? 'hole' : 'shaft',
    nominal,
    lower: inBothUnits(lower / 1000),
    upper: inBothUnits(upper / 1000),
    smallest: inBothUnits(nominal + lower / 1000),
    largest: inBothUnits(nominal + upper / 1000),
    tolerance: inBothUnits((upper - lower) / 1000),
  };
}

/**
 * Clearance and interference of a fit after ISO 286-1:2010: `fitOf('H7/g6', 25)` has 0.007 to 0.041 mm of clearance.
 *
 * @param name hole and shaft, in this order, with a slash
 * @param nominal mm, up to 500
 * @throws FettleError `unknown-fit` if it is not a hole and a shaft; else as {@link limitsOf}
 */
export function fitOf(name: string, nominal: number): FitLimits {
  const [first, second, ...rest] = name.split('/').map((part) => part.trim());
  if (!first || !second || rest.length > 0)
    throw new FettleError(
      'unknown-fit',
      `"${name}" is not a fit: write the class of the hole, a slash and that of the shaft, as H7/g6.`,
    );
  const hole = limitsOf(first, nominal);
  const shaft = limitsOf(second, nominal);
  if (hole.of !== 'hole' || shaft.of !== 'shaft')
    throw new FettleError(
      'unknown-fit',
      `"${name}" is a ${hole.of} with a ${shaft.of}: the hole, in a capital letter, comes before the slash and the shaft, in a ` +
        'small one, after it, as H7/g6.',
    );
  const loosest = inBothUnits(hole.largest.mm - shaft.smallest.mm).mm;
  const tightest = inBothUnits(hole.smallest.mm - shaft.largest.mm).mm;
  const kind = tightest >= 0 ? 'clearance' : loosest <= 0 ? 'interference' : 'transition';
  const span = (smallest: number, largest: number): Span => ({
    smallest: inBothUnits(Math.max(0, smallest)),
    largest: inBothUnits(largest),
  });
  return {
    name: `${hole.toleranceClass}/${shaft.toleranceClass}`,
    kind,
    nominal,
    hole,
    shaft,
    ...(kind !== 'interference' && { clearance: span(tightest, loosest) }),
    ...(kind !== 'clearance' && { interference: span(0 - loosest, 0 - tightest) }),
  };
}

function parsed(name: string): { readonly letter: string; readonly grade: Grade } {
  const [, letter = '', number = ''] = /^([A-Za-z]+)\s*(\d+)$/.exec(name.trim()) ?? [];
  const grade = GRADES.find((known) => known === number);
  if (letters.includes(letter) && grade !== undefined) return { letter, grade };
  // Js7 and 7H are written often.
  const swapped = /^(\d+)([A-Za-z]+)$/.exec(name.trim());
  const [wantedLetter, wantedNumber] = swapped ? [swapped[2]!, swapped[1]!] : [letter, number];
  const isCapital = /^[A-Z]/.test(wantedLetter);
  const own = isCapital ? HOLE_LETTERS : SHAFT_LETTERS;
  const meantLetter =
    own.find((l) => l.toLowerCase() === wantedLetter.toLowerCase()) ?? closestLetter(wantedLetter, own) ?? own[4]!;
  const meantGrade = GRADES.includes(wantedNumber as Grade)
    ? wantedNumber
    : wantedNumber !== '' && Number(wantedNumber) > 18
      ? '18'
      : (nearest(wantedNumber, GRADES) ?? '7');
  throw new FettleError(
    'unknown-class',
    `"${name}" is no tolerance class kept here; the nearest is "${meantLetter}${meantGrade}". Holes: ${HOLE_LETTERS.join(', ')}; ` +
      `shafts: ${SHAFT_LETTERS.join(', ')}; each with a grade 01, 0, 1 to 18.`,
  );
}

/** The letter nearest in the alphabet, in which the standard goes from loose to tight. */
function closestLetter(wanted: string, letters: readonly string[]): string | undefined {
  if (wanted === '') return undefined;
  const place = (letter: string) => letter.toLowerCase().charCodeAt(0);
  return letters.reduce((best, l) =>
    Math.abs(place(l) - place(wanted)) < Math.abs(place(best) - place(wanted)) ? l : best,
  );
}
