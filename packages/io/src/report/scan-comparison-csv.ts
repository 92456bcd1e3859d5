import { csvLine, csvUnit } from './csv-text.js';
import { decimalsOf, fixed } from './number-text.js';
import type { ScanComparison } from './scan-comparison.js';

/** One decimal more than the sheet: a spread is read from differences. */
const MORE = 1;

/** The comparison as CSV (RFC 4180, UTF-8, decimal points): a record a value, a column a scan, then mean and spread. */
export function scanComparisonCsv(comparison: ScanComparison): string {
  const { scans, rows } = comparison;
  const lines = [
    csvLine([
      'balloon',
      'id',
      'what',
      'frame',
      'dimension',
      'unit',
      ...scans,
      'mean',
      'standard deviation',
      'range',
      'farthest off',
      'off by',
      'uncertainty',
      'min',
      'max',
      'outside',
      'unsure',
    ]),
  ];
  for (const row of rows) {
    const decimals = decimalsOf(row.uncertainty) + MORE;
    const text = (value: number | undefined): string => (value === undefined ? '' : fixed(value, decimals));
    lines.push(
      csvLine([
        row.balloon,
        row.id,
        row.what,
        row.frame,
        row.name,
        csvUnit(row.unit),
        ...row.values.map(text),
        text(row.mean),
        text(row.standardDeviation),
        text(row.range),
        row.farthest?.scan,
        text(row.farthest?.off),
        text(row.uncertainty),
        row.limits?.min,
        row.limits?.max,
        row.outside.join(' '),
        row.unsure.join(' '),
      ]),
    );
  }
  return lines.join('');
}
