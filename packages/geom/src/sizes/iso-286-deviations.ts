import { FettleError } from '../error.js';
import { demandSize, type Grade, gradeNumber, MAIN_RANGES, rangeOf, standardTolerance } from './iso-286-grades.js';

/** Over 50 mm the tighter fits change within the main ranges: upper bounds, mm. */
const FINER_RANGES = [
  3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500,
] as const;

/**
 * Fundamental deviations of shafts, µm: the upper one, below zero, from d to h; the lower one from k to s. One column a range
 * of {@link MAIN_RANGES}, of r and s of {@link FINER_RANGES}. ISO 286-1:2010, tables 4 and 5, from memory; held in the tests
 * against the standard's formulas and against limits printed in handbooks.
 */
const SHAFTS = {
  d: [-20, -30, -40, -50, -65, -80, -100, -120, -145, -170, -190, -210, -230],
  e: [-14, -20, -25, -32, -40, -50, -60, -72, -85, -100, -110, -125, -135],
  f: [-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68],
  g: [-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20],
  h: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
  k: [0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5],
  m: [2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23],
  n: [4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40],
  p: [6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68],
  r: [10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132],
  s: [14, 19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252],
} as const satisfies Readonly<Record<string, readonly number[]>>;

type Letter = keyof typeof SHAFTS;
/** Which way the fundamental deviation bounds the tolerance zone. */
const LOOSE = ['d', 'e', 'f', 'g', 'h'] as const satisfies readonly Letter[];
const isLoose = (letter: Letter): boolean => (LOOSE as readonly Letter[]).includes(letter);

/** Letters of the classes kept here; `js` is symmetrical. */
export const SHAFT_LETTERS: readonly string[] = ['d', 'e', 'f', 'g', 'h', 'js', 'k', 'm', 'n', 'p', 'r', 's'];
export const HOLE_LETTERS: readonly string[] = SHAFT_LETTERS.map((letter) => letter.toUpperCase());

/** Both limit deviations from the nominal size, µm. */
export interface Deviations {
  readonly lower: number;
  readonly upper: number;
}

const tabulated = (letter: Letter, nominal: number): number => {
  const values: readonly number[] = SHAFTS[letter];
  return values[rangeOf(nominal, values.length === MAIN_RANGES.length ? MAIN_RANGES : FINER_RANGES)]!;
};

const symmetrical = (tolerance: number): Deviations => ({ lower: -tolerance / 2, upper: tolerance / 2 });

/**
 * Limit deviations of a shaft, µm. js is exactly half the tolerance to each side; some handbooks round odd ones of js7 to js11
 * down to a whole µm.
 *
 * @throws FettleError `size-out-of-range`, `class-not-given`
 */
export function shaftDeviations(letter: string, grade: Grade, nominal: number): Deviations {
  const tolerance = standardTolerance(grade, nominal);
  if (letter === 'js') return symmetrical(tolerance);
  const at = letter as Letter;
  if (isLoose(at)) {
    const upper = tabulated(at, nominal);
    return { lower: upper - tolerance, upper };
  }
  // k lies off the zero line only in the grades that locate: IT4 to IT7.
  const n = gradeNumber(grade);
  const lower = at === 'k' && (n < 4 || n > 7) ? 0 : tabulated(at, nominal);
  return { lower, upper: lower + tolerance };
}

/**
 * Limit deviations of a hole, µm: D to H are the shaft's mirrored; K, M, N up to IT8 and P, R, S up to IT7 are the shaft's
 * mirrored and raised by Δ = ITn − ITn−1 over 3 mm, so that H7/p6 and P7/h6 fit alike (ISO 286-1).
 *
 * @throws FettleError `size-out-of-range`; `class-not-given` where the standard gives none: K over IT8 over 3 mm, N over IT8 up to
 * 1 mm, and K to S finer than IT3 over 3 mm, for which it has no Δ
 */
export function holeDeviations(letter: string, grade: Grade, nominal: number): Deviations {
  demandSize(nominal);
  const tolerance = standardTolerance(grade, nominal);
  if (letter === 'JS') return symmetrical(tolerance);
  const of = letter.toLowerCase() as Letter;
  if (isLoose(of)) {
    const lower = 0 - tabulated(of, nominal);
    return { lower, upper: lower + tolerance };
  }
  const upper = upperOfTight(of, grade, nominal);
  return { lower: upper - tolerance, upper };
}

function upperOfTight(letter: Letter, grade: Grade, nominal: number): number {
  const n = gradeNumber(grade);
  const mirrored = 0 - tabulated(letter, nominal);
  const locates = letter === 'k' || letter === 'm' || letter === 'n';
  if (n > (locates ? 8 : 7)) {
    if (letter === 'k' && nominal > 3) throw notGiven('K', grade, nominal, 'over IT8 over 3 mm', 'K8 or finer');
    if (letter !== 'n') return mirrored;
    if (nominal <= 1) throw notGiven('N', grade, nominal, 'over IT8 up to 1 mm', 'N8 or finer');
    return nominal <= 3 ? mirrored : 0;
  }
  if (nominal <= 3) return mirrored;
  if (n < 3)
    throw notGiven(letter.toUpperCase(), grade, nominal, 'finer than IT3', `${letter.toUpperCase()}3 or coarser`);
  // The one value of the table that the rule does not give.
  if (letter === 'm' && n === 6 && nominal > 250 && nominal <= 315) return -9;
  const finer = standardTolerance(String(n - 1) as Grade, nominal);
  return mirrored + (standardTolerance(grade, nominal) - finer);
}

const notGiven = (letter: string, grade: Grade, nominal: number, where: string, instead: string): FettleError =>
  new FettleError(
    'class-not-given',
    `${letter}${grade} for ${nominal} mm: ISO 286 gives no ${letter} ${where}. Choose ${instead}, or another letter.`,
  );
