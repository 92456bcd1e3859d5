import type { Results, SheetRow } from '@fettle/geom';

/** A warning as a sheet tells it. */
export interface ToldWarning {
  readonly message: string;
  /** The row it is about; absent where it is about the whole. */
  readonly about?: SheetRow;
  /** Other rows that have one of its kind, and are named only. */
  readonly likewise: readonly SheetRow[];
}

/** Warnings that many features have: told in full of the first, of the others by their names. */
const COMMON: ReadonlySet<string> = new Set(['correlation-long', 'noise-unknown']);

/** What tells of the scan as it is delivered, and warns of nothing. */
export const CHANGE = 'scan-simplified';

/** Warnings of features in the order of their rows, then those of the whole; one told twice is told once. */
export function toldWarnings({ sheet, warnings }: Results): readonly ToldWarning[] {
  const told = new Map<string, { message: string; about?: SheetRow; likewise: SheetRow[] }>();
  for (const row of sheet)
    for (const { code, message } of row.warnings) {
      const key = COMMON.has(code) ? code : message;
      const known = told.get(key);
      if (known === undefined) told.set(key, { message, about: row, likewise: [] });
      else if (COMMON.has(code)) known.likewise.push(row);
    }
  for (const { code, message } of warnings)
    if (code !== CHANGE && !told.has(message)) told.set(message, { message, likewise: [] });
  return [...told.values()];
}
