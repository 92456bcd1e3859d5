import { FettleError } from '../error.js';

/**
 * Upper bounds of the ranges of nominal sizes of ISO 286-1, mm. A range is over the bound before it, up to and including its
 * own: 30 mm belongs to 18 … 30.
 */
export const MAIN_RANGES = [3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500] as const;

/** The number of the standard tolerance grade: `01`, `0`, `1` … `18`. */
export type Grade = keyof typeof TOLERANCES;

/**
 * Standard tolerances, µm, one column a range of {@link MAIN_RANGES}. ISO 286-1:2010, table 1, from memory; held in the tests
 * against its own formulas (grades 5 to 18) and against limits printed in handbooks. The printed values are kept, not the
 * formulas: those were rounded by hand.
 */
const TOLERANCES = {
  '01': [0.3, 0.4, 0.4, 0.5, 0.6, 0.6, 0.8, 1, 1.2, 2, 2.5, 3, 4],
  '0': [0.5, 0.6, 0.6, 0.8, 1, 1, 1.2, 1.5, 2, 3, 4, 5, 6],
  '1': [0.8, 1, 1, 1.2, 1.5, 1.5, 2, 2.5, 3.5, 4.5, 6, 7, 8],
  '2': [1.2, 1.5, 1.5, 2, 2.5, 2.5, 3, 4, 5, 7, 8, 9, 10],
  '3': [2, 2.5, 2.5, 3, 4, 4, 5, 6, 8, 10, 12, 13, 15],
  '4': [3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20],
  '5': [4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27],
  '6': [6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40],
  '7': [10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63],
  '8': [14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97],
  '9': [25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155],
  '10': [40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250],
  '11': [60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400],
  '12': [100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630],
  '13': [140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970],
  '14': [250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550],
  '15': [400, 480, 580, 700, 840, 1000, 1200, 1400, 1600, 1850, 2100, 2300, 2500],
  '16': [600, 750, 900, 1100, 1300, 1600, 1900, 2200, 2500, 2900, 3200, 3600, 4000],
  '17': [1000, 1200, 1500, 1800, 2100, 2500, 3000, 3500, 4000, 4600, 5200, 5700, 6300],
  '18': [1400, 1800, 2200, 2700, 3300, 3900, 4600, 5400, 6300, 7200, 8100, 8900, 9700],
} as const satisfies Readonly<Record<string, readonly number[]>>;

/** From the finest to the coarsest. */
export const GRADES: readonly Grade[] = [
  '01',
  '0',
  ...Array.from({ length: 18 }, (_, i) => String(i + 1) as Grade),
] as const;

/** The grade after its number in order of fineness: IT7 is 7, IT01 is −1. */
export const gradeNumber = (grade: Grade): number => (grade === '01' ? -1 : Number(grade));

/** The column of a size among ranges given by their upper bounds. */
export const rangeOf = (nominal: number, ranges: readonly number[]): number => ranges.findIndex((to) => nominal <= to);

/**
 * Refuses sizes the tables do not hold.
 *
 * @throws FettleError `size-out-of-range`
 */
export function demandSize(nominal: number): void {
  if (nominal > 0 && nominal <= 500) return;
  throw new FettleError(
    'size-out-of-range',
    `The tables of ISO 286 kept here hold nominal sizes over 0 up to 500 mm, not ${nominal} mm. ` +
      'Give the nominal size in mm; take larger ones from the standard.',
  );
}

/**
 * The standard tolerance of a grade for a nominal size in mm, µm (ISO 286-1).
 *
 * @throws FettleError `size-out-of-range`; `class-not-given` for IT14 to IT18 up to 1 mm, where the standard does not use them
 */
export function standardTolerance(grade: Grade, nominal: number): number {
  demandSize(nominal);
  if (gradeNumber(grade) >= 14 && nominal <= 1)
    throw new FettleError(
      'class-not-given',
      `ISO 286 does not use IT${grade} for sizes up to 1 mm, and ${nominal} mm is one. Choose IT13 or finer.`,
    );
  return TOLERANCES[grade][rangeOf(nominal, MAIN_RANGES)]!;
}
