/** A length as two kinds of shop read it. */
export interface InBothUnits {
  readonly mm: number;
  /** Thousandths of an inch. */
  readonly thou: number;
}

/** A thousandth of an inch, mm: an inch is 25.4 mm by definition. */
const THOU = 0.0254;

/** Digits beyond the tenth of a nanometer are rounding. */
const clean = (x: number): number => Number(x.toFixed(7));

/** A length in mm in both units. */
export const inBothUnits = (mm: number): InBothUnits => ({ mm: clean(mm), thou: clean(mm / THOU) });
