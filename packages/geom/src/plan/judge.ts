import type { Warning } from '../error.js';
import type { Reading } from './reading.js';
import type { Limits, SheetValue } from './results.js';

/** Values judged by the limits set on them, and what to say of verdicts that could be otherwise. */
export interface Judged {
  readonly values: readonly SheetValue[];
  readonly warnings: readonly Warning[];
}

/** Digits that show a difference of a tenth of the uncertainty, two to five. */
const figure = (value: number, uncertainty: number): string =>
  value.toFixed(Math.min(5, Math.max(2, 1 - Math.floor(Math.log10(uncertainty)))));

/**
 * Judge readings by limits on their names: at the limit is within. Where a limit lies inside the uncertainty of a value, the
 * verdict stands and a warning `limit-within-uncertainty` says that it could be the other.
 */
export function judge(readings: readonly Reading[], limits: Readonly<Record<string, Limits>> = {}): Judged {
  const warnings: Warning[] = [];
  const values = readings.map((given): SheetValue => {
    const { name, value, unit, uncertainty } = given;
    const limit = limits[name];
    if (limit === undefined) return given;
    const { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY } = limit;
    const verdict = value >= min && value <= max ? 'within' : 'outside';
    const nearest = Math.abs(value - min) < Math.abs(value - max) ? min : max;
    if (uncertainty !== undefined && Math.abs(value - nearest) < uncertainty)
      warnings.push({
        code: 'limit-within-uncertainty',
        message:
          `${name} ${figure(value, uncertainty)} ${unit} is ${verdict} its limit ${nearest} ${unit}, but by less than its ` +
          `uncertainty of ± ${figure(uncertainty, uncertainty)} ${unit}: the verdict could be the other.`,
      });
    return { ...given, limits: limit, verdict };
  });
  return { values, warnings };
}
