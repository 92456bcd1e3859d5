import type { Warning } from '../../error.js';
import type { Limits, SheetValue } from './outcome.js';
import type { Reading } from './reading.js';

/** Values judged by the limits set on them, and what to say of verdicts that could be otherwise. */
export interface Judged {
  readonly values: readonly SheetValue[];
  readonly warnings: readonly Warning[];
}

/** Digits that show a difference of a tenth of the uncertainty, two to five. */
const figure = (value: number, uncertainty: number): string =>
  value.toFixed(Math.min(5, Math.max(2, 1 - Math.floor(Math.log10(uncertainty)))));

/** The limits that a quantity can pass: those short of its own ends. */
export function passable({ limits = {}, ends = {} }: Pick<SheetValue, 'limits' | 'ends'>): Limits {
  const { min, max } = limits;
  const first = ends.min ?? Number.NEGATIVE_INFINITY;
  const last = ends.max ?? Number.POSITIVE_INFINITY;
  return { ...(min !== undefined && min > first && { min }), ...(max !== undefined && max < last && { max }) };
}

/** What the points of a fit come to, which is no estimate of anything. */
const DESCRIPTIVE = new Set(['rms', 'form']);

/** Whether a value measured on the scan has no ±, so that no verdict on it is sure. */
export const isUnknown = ({ name, uncertainty, given }: Omit<SheetValue, 'limits' | 'verdict'>): boolean =>
  !DESCRIPTIVE.has(name) && !given && !Number.isFinite(uncertainty ?? Number.NaN);

/**
 * Judge readings by limits on their names: at the limit is within. A limit where the quantity itself ends cannot be passed. Where a limit
 * lies inside the uncertainty of a value, the verdict stands and a warning `limit-within-uncertainty` says that it could be the other;
 * `limit-without-uncertainty` where nothing tells the uncertainty.
 */
export function judge(readings: readonly Reading[], limits: Readonly<Record<string, Limits>> = {}): Judged {
  const warnings: Warning[] = [];
  const values = readings.map(({ ends, ...given }): SheetValue => {
    const { name, value, unit, uncertainty } = given;
    const limit = limits[name];
    if (limit === undefined) return given;
    const { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY } = passable({
      limits: limit,
      ...(ends && { ends }),
    });
    const verdict = value >= min && value <= max ? 'within' : 'outside';
    const nearest = Math.abs(value - min) < Math.abs(value - max) ? min : max;
    if (isUnknown(given))
      warnings.push({
        code: 'limit-without-uncertainty',
        message:
          `${name} ${value.toFixed(3)} ${unit} is ${verdict} its limit ${nearest} ${unit}, but nothing tells its uncertainty: the verdict ` +
          'could be the other. Check it by hand.',
      });
    else if (uncertainty !== undefined && Math.abs(value - nearest) < uncertainty)
      warnings.push({
        code: 'limit-within-uncertainty',
        message:
          `${name} ${figure(value, uncertainty)} ${unit} is ${verdict} its limit ${nearest} ${unit}, but by less than its ` +
          `uncertainty of ± ${figure(uncertainty, uncertainty)} ${unit}: the verdict could be the other.`,
      });
    return { ...given, limits: limit, ...(ends && { ends }), verdict };
  });
  return { values, warnings };
}
