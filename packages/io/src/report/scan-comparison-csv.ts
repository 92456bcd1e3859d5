import { decimalsOf, fixed } from '../text/number-text.js';
import { csvLine, csvUnit } from './csv-text.js';
import { fateOf } from './failed-steps.js';
import type { ScanComparison, ScanFailure } from './scan-comparison.js';

/** One decimal more than the sheet: a spread is read from differences. */
const MORE = 1;

/** Columns left and right of those of the scans. */
const BEFORE = ['balloon', 'id', 'what', 'frame', 'dimension', 'unit'] as const;
const AFTER = [
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
] as const;

/**
 * The comparison as CSV (RFC 4180, UTF-8, decimal points): a record a value, a column a scan, then mean and spread. Then a record a step
 * that failed on any scan, and a record a scan that could not be measured, its id `scan`: the reason stands in the column of the scan.
 */
export function scanComparisonCsv(comparison: ScanComparison): string {
  const { rows, failures } = comparison;
  const unmeasured = failures.filter(({ step }) => step === undefined).map(({ scan }) => scan);
  const scans = [...comparison.scans, ...unmeasured];
  const lines = [csvLine([...BEFORE, ...scans, ...AFTER])];
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
        ...unmeasured.map(() => ''),
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
  for (const { id, what, fate, reasons } of failureRecords(failures))
    lines.push(
      csvLine(['', id, what, '', fate, '', ...scans.map((scan) => reasons.get(scan)), ...AFTER.map(() => '')]),
    );
  return lines.join('');
}

interface FailureRecord {
  readonly id: string;
  readonly what: string;
  readonly fate: string;
  /** By scan. */
  readonly reasons: Map<string, string>;
}

/** One a step and fate, one a scan that could not be measured. */
function failureRecords(failures: readonly ScanFailure[]): Iterable<FailureRecord> {
  const records = new Map<string, FailureRecord>();
  for (const failure of failures) {
    const { scan, step, message } = failure;
    const fate = fateOf(failure);
    const key = step === undefined ? `scan ${scan}` : `${fate} ${step}`;
    const record = records.get(key) ?? {
      id: step ?? 'scan',
      what: step === undefined ? scan : '',
      fate,
      reasons: new Map(),
    };
    record.reasons.set(scan, message);
    records.set(key, record);
  }
  return records.values();
}
