import type { SheetRow, SheetValue } from '@fettle/geom';
import { decimalsOf, fixed } from '../text/number-text.js';

/** A further column of the job sheet: a true value, a drawing's size, a remark. */
export interface SheetColumn {
  readonly title: string;
  /** What stands beside a value; a number gets the value's decimals. Undefined: nothing. */
  cell(row: SheetRow, value: SheetValue): string | number | undefined;
}

/** What an extra column says beside a value. */
export function extraText(column: SheetColumn, row: SheetRow, value: SheetValue): string {
  const cell = column.cell(row, value);
  return typeof cell === 'number' ? fixed(cell, decimalsOf(value.uncertainty)) : (cell ?? '');
}
