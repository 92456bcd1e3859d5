import type { Results, SheetRow } from '@fettle/geom';
import { decimalsOf, fixed, uncertaintyText } from '../text/number-text.js';
import { csvLine, csvUnit } from './csv-text.js';
import { fateOf } from './failed-steps.js';
import { extraText, type SheetColumn } from './sheet-column.js';

export interface JobSheetCsvOptions {
  /** Further columns, right of the others. */
  readonly extraColumns?: readonly SheetColumn[];
}

const COLUMNS = [
  'balloon',
  'id',
  'what',
  'note',
  'frame',
  'where',
  'dimension',
  'value',
  'uncertainty',
  'unit',
  'min',
  'max',
  'verdict',
  'rms',
  'form',
  'points',
  'rejected',
  'trust',
  'warnings',
  'advice',
  'region',
] as const;

/**
 * The job sheet as CSV (RFC 4180, UTF-8, decimal points): a record a value, its feature repeated on each. Values carry the
 * decimals their uncertainty allows, as on the printed sheet; results.json has every digit. Then a record a step that gave nothing:
 * `failed`, `waits` or `left out` in the place of the verdict, the reason in that of the warnings.
 */
export function jobSheetCsv(results: Results, options: JobSheetCsvOptions = {}): string {
  const extraColumns = options.extraColumns ?? [];
  const lines = [csvLine([...COLUMNS, ...extraColumns.map((column) => column.title)])];
  for (const row of results.sheet) {
    const values = row.values.map((value) => [
      value.name,
      fixed(value.value, decimalsOf(value.uncertainty)),
      uncertaintyText(value),
      csvUnit(value.unit),
      value.limits?.min,
      value.limits?.max,
      value.verdict,
    ]);
    const none: undefined[] = new Array(7).fill(undefined);
    const extra = row.values.map((value) => extraColumns.map((column) => extraText(column, row, value)));
    (values.length > 0 ? values : [none]).forEach((value, v) => {
      lines.push(
        csvLine([
          row.balloon,
          row.id,
          row.what,
          row.note,
          row.frame,
          row.where,
          ...value,
          ...fitFields(row),
          ...(extra[v] ?? []),
        ]),
      );
    });
  }
  for (const failed of results.failed) {
    const fields: Record<string, string> = {
      id: failed.id,
      what: failed.step,
      verdict: fateOf(failed),
      warnings: failed.message,
    };
    lines.push(csvLine([...COLUMNS, ...extraColumns.map(() => '')].map((name) => fields[name])));
  }
  return lines.join('');
}

const fitFields = (row: SheetRow): (string | number | undefined)[] => [
  row.rms === undefined ? '' : fixed(row.rms, 4),
  row.form === undefined ? '' : fixed(row.form, 4),
  row.used,
  row.rejected,
  row.uncertainty,
  row.warnings.map((warning) => warning.message).join(' '),
  row.advice?.join(' '),
  row.region,
];
