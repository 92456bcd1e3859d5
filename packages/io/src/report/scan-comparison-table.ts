import { alignDecimals, counted, decimalsOf, fixed, UNSURE } from '../text/number-text.js';
import { columnWidths, type TextColumn, type TextRow, tableLines, tableWidth, wrapText } from '../text/text-layout.js';
import { plainText } from '../text/visible-text.js';
import { CAUTION } from './caution.js';
import type { ComparedValue, ScanComparison, ScanFailure } from './scan-comparison.js';

export interface ScanComparisonTableOptions {
  /** Characters a line may have; default 110. Where the scans do not fit beside each other only their spread is shown. */
  readonly width?: number;
}

/** The comparison as text: a line a value, a column a scan, then mean, spread and the scan farthest off. */
export function scanComparisonTable(comparison: ScanComparison, options: ScanComparisonTableOptions = {}): string {
  const width = Math.max(24, options.width ?? 110);
  const { scans } = comparison;
  const all = layOut(comparison, true);
  const body = all.width <= width ? all : layOut(comparison, false);
  const several = scans.length > 1;
  const notes = [
    ...(body === all ? [] : ['The value on each scan is in all-scans.csv.']),
    ...(several ? ['s: standard deviation between the scans; range: largest less smallest.'] : []),
    ...(scans.length > 2 ? ['farthest off: the scan farthest from the mean, and by how much.'] : []),
  ];
  const limited = comparison.rows.filter((row) => row.limits);
  const lines = [
    ...wrapText(plainText(comparison.title), width),
    ...wrapText(`${counted(scans.length, 'scan')}: ${scans.map(plainText).join(', ')}`, width),
    ...fileLines(comparison, width),
    '',
    ...body.lines,
    '',
    ...wrapText(notes.join(' '), width),
    ...failureLines(comparison, width),
    ...(comparison.warnings.length === 0 ? [] : ['', 'Warnings']),
    ...comparison.warnings.flatMap(({ message }) => wrapText(`- ${plainText(message)}`, width, '  ')),
    ...(limited.length > 0 ? ['', ...limitLines(limited, width)] : []),
    '',
    ...wrapText(CAUTION, width),
  ];
  return `${lines.join('\n')}\n`;
}

/** Which file is meant by each name, where two files are called the same. */
function fileLines({ scans, paths }: ScanComparison, width: number): string[] {
  const called = paths.map((path) =>
    path
      ?.replace(/^.*[\\/]/, '')
      .replace(/(?!^)\.[^.]*$/, '')
      .toLowerCase(),
  );
  const isClear = called.every((name, i) => name === undefined || called.indexOf(name) === i);
  if (isClear) return [];
  return scans.flatMap((scan, s) => {
    const path = paths[s];
    return path === undefined ? [] : wrapText(`- ${plainText(scan)}: ${plainText(path)}`, width, '  ');
  });
}

/** A line a scan that failed in part or as a whole, then a line a scan on which something was left out. */
function failureLines({ failures }: ScanComparison, width: number): string[] {
  const told = (title: string, some: readonly ScanFailure[]): string[] => {
    const scans = [...new Set(some.map(({ scan }) => scan))];
    const lines = scans.map((scan) => {
      const own = some.filter((failure) => failure.scan === scan);
      const reasons = own.flatMap(({ waitsFor, message }) => (waitsFor === undefined ? [message] : []));
      const resting = own.flatMap(({ waitsFor, step }) => (waitsFor === undefined ? [] : [step]));
      return `${scan}: ${reasons.join(' ')}${resting.length > 0 ? ` And what rests on it: ${resting.join(', ')}.` : ''}`;
    });
    return lines.length === 0
      ? []
      : ['', title, ...lines.flatMap((line) => wrapText(`- ${plainText(line)}`, width, '  '))];
  };
  return [
    ...told(
      'Failed',
      failures.filter(({ leftOut }) => !leftOut),
    ),
    ...told(
      'Left out, being optional',
      failures.filter(({ leftOut }) => leftOut),
    ),
  ];
}

function layOut(comparison: ScanComparison, each: boolean): { lines: string[]; width: number } {
  const { scans, rows } = comparison;
  const text = (row: ComparedValue, value: number | undefined): string =>
    value === undefined ? '' : fixed(value, decimalsOfRow(row));
  const numbers = (pick: (row: ComparedValue) => number | undefined): string[] =>
    alignDecimals(rows.map((row) => text(row, pick(row))));
  const columns: { column: TextColumn; texts: readonly string[] }[] = [
    { column: { title: 'no.', align: 'right' }, texts: repeatless(rows, (row) => String(row.balloon)) },
    { column: { title: 'feature', align: 'left' }, texts: repeatless(rows, (row) => row.id) },
    { column: { title: 'dimension', align: 'left' }, texts: rows.map((row) => row.name) },
    { column: { title: 'unit', align: 'left' }, texts: rows.map((row) => row.unit) },
    ...(each ? scans : []).map((scan, s) => ({
      column: { title: plainText(scan), align: 'right' } as const,
      texts: numbers((row) => row.values[s]),
    })),
    { column: { title: 'mean', align: 'right' }, texts: numbers((row) => row.mean) },
  ];
  if (scans.length > 1)
    columns.push(
      { column: { title: 's', align: 'right' }, texts: numbers((row) => row.standardDeviation) },
      { column: { title: 'range', align: 'right' }, texts: numbers((row) => row.range) },
    );
  if (scans.length > 2) {
    // Off by less than the last digit shown is not worth a name.
    const off = rows
      .map((row) => signed(text(row, row.farthest?.off)))
      .map((shown) => (Number(shown) === 0 ? '' : shown));
    const aligned = alignDecimals(off);
    columns.push({
      column: { title: 'farthest off', align: 'left' },
      texts: rows.map((row, r) => (off[r] ? `${aligned[r]}  ${plainText(row.farthest!.scan)}` : '')),
    });
  }
  const textColumns = columns.map(({ column }) => column);
  const textRows = rows.map((_, r): TextRow => ({ cells: columns.map(({ texts }) => [texts[r]!]) }));
  return { lines: tableLines(textColumns, textRows), width: tableWidth(columnWidths(textColumns, textRows)) };
}

/** Decimals the uncertainty allows, and more where scans agree better than that: the spread has two digits of its own. */
const decimalsOfRow = ({ uncertainty, standardDeviation }: ComparedValue): number =>
  Math.max(decimalsOf(uncertainty), standardDeviation ? decimalsOf(standardDeviation) : 0);

/** A feature is named on its first line only. */
const repeatless = (rows: readonly ComparedValue[], pick: (row: ComparedValue) => string): string[] =>
  rows.map((row, r) => (r > 0 && rows[r - 1]!.id === row.id ? '' : pick(row)));

const signed = (text: string): string => (text === '' || text.startsWith('-') ? text : `+${text}`);

function limitLines(limited: readonly ComparedValue[], width: number): string[] {
  const outside = limited.filter((row) => row.outside.length > 0);
  const unsure = limited.filter((row) => row.unsure.length > 0);
  const on = outside.length === 0 ? 'any scan' : 'one scan or more';
  const tell = (rows: readonly ComparedValue[], how: 'outside' | 'unsure'): string[] =>
    rows.flatMap((row) => {
      const scans = row[how].map(plainText).join(', ');
      return wrapText(`- ${row.balloon} ${row.id}: ${row.name} is ${how} on ${scans}.`, width, '  ');
    });
  return [
    `Limits: ${outside.length || 'none'} of ${limited.length} outside on ${on}.`,
    ...tell(outside, 'outside'),
    ...(unsure.length > 0 ? wrapText(UNSURE, width) : []),
    ...tell(unsure, 'unsure'),
  ];
}
