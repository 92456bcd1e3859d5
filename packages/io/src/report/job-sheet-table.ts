import { noiseInWords, type Results, type SheetRow, type SheetValue, scannerOf } from '@fettle/geom';
import {
  alignDecimals,
  counted,
  countText,
  fixed,
  isExact,
  isUnsure,
  limitsText,
  shortNumber,
  UNSURE,
  uncertaintyText,
  valueText,
  verdictText,
} from '../text/number-text.js';
import {
  columnWidths,
  type TextColumn,
  type TextRow,
  tableLines,
  tableWidth,
  textWidth,
  wrapText,
} from '../text/text-layout.js';
import { plainText } from '../text/visible-text.js';
import { CAUTION } from './caution.js';
import { failedInWords, type ToldFailure, toldFailures, waitingInWords } from './failed-steps.js';
import { laidInWords } from './laid-text.js';
import { scannerText } from './scanner-text.js';
import { extraText, type SheetColumn } from './sheet-column.js';
import { CHANGE, toldWarnings } from './told-warnings.js';

export interface JobSheetTableOptions {
  /**
   * Characters a line may have; default 110. Where the columns do not fit, points and residuals are told in words below
   * the values; where that does not fit either, each feature is a block of lines.
   */
  readonly width?: number;
  /** Further columns, right of the others. */
  readonly extraColumns?: readonly SheetColumn[];
}

/** Narrower than this the words of a feature are hard to read; the sheet then becomes blocks. */
const MIN_FEATURE_WIDTH = 16;
/** Wider than this they need not be. */
const MAX_FEATURE_WIDTH = 36;

/**
 * The job sheet as text: a line a value, features numbered as in their balloons, warnings in words below, then whether
 * the limits hold and what the numbers are good for. Ends with a line feed.
 */
export function jobSheetTable(results: Results, options: JobSheetTableOptions = {}): string {
  const width = Math.max(24, options.width ?? 110);
  const sheet = arrange(results, options.extraColumns ?? []);
  const body = columnLines(sheet, width, true) ?? columnLines(sheet, width, false) ?? blockLines(sheet, width);
  const { scan } = results;
  const counts = [counted(scan.points, 'point')];
  if (scan.triangles > 0) counts.push(counted(scan.triangles, 'triangle'));
  const lines = [
    ...wrapText(plainText(results.title), width),
    ...wrapText(`${plainText(scan.name)}: ${counts.join(', ')}`, width),
    ...wrapText(`Scanner: ${plainText(scannerText(scannerOf(results.plan)))}`, width),
    ...(results.laid ? wrapText(laidInWords(results.laid), width) : []),
    ...(results.noise ? wrapText(`Noise: ${noiseInWords(results.noise)}`, width) : []),
    '',
    ...body,
    '',
    ...wrapText(legend(sheet), width),
    ...failureLines(results, width),
    ...warningLines(results, width),
    ...changeLines(results, width),
    ...limitLines(results, width),
    '',
    ...wrapText(CAUTION, width),
  ];
  return `${lines.join('\n')}\n`;
}

/** The sheet's texts, numbers aligned over all rows. */
interface Arranged {
  readonly rows: readonly ArrangedRow[];
  readonly extraTitles: readonly string[];
  readonly limits: boolean;
}

interface ArrangedRow {
  readonly row: SheetRow;
  /** Set where the frame of the coordinates changes. */
  readonly heading?: string;
  readonly values: readonly ArrangedValue[];
}

interface ArrangedValue {
  readonly name: string;
  /** `40.012 ± 0.031 mm`, aligned. */
  readonly text: string;
  readonly limits: string;
  readonly verdict: string;
  readonly extra: readonly string[];
}

function arrange(results: Results, extraColumns: readonly SheetColumn[]): Arranged {
  const pairs = results.sheet.flatMap((row) => row.values.map((value) => ({ row, value })));
  const numbers = alignDecimals(pairs.map(({ value }) => valueText(value)));
  const uncertainties = alignDecimals(pairs.map(({ value }) => (value.given ? '' : uncertaintyText(value))));
  const extra = extraColumns.map((column) =>
    alignDecimals(pairs.map(({ row, value }) => extraText(column, row, value))),
  );
  const texts = pairs.map(({ value }, i): ArrangedValue => {
    const anyUncertainty = uncertainties[i] !== '';
    const sign = value.uncertainty === undefined ? ' ' : '±';
    const doubt = anyUncertainty ? ` ${sign} ${uncertainties[i]}` : '';
    return {
      name: value.name,
      text: value.given ? `${numbers[i]} ${value.unit}, given` : `${numbers[i]}${doubt} ${value.unit}`,
      limits: limitsText(value.limits),
      verdict: verdictText(value),
      extra: extra.map((column) => column[i]!),
    };
  });
  let next = 0;
  let frame: string | undefined;
  const rows = results.sheet.map((row): ArrangedRow => {
    const values = row.values.map(() => texts[next++]!);
    const heading = row.frame === frame ? undefined : frameHeading(row.frame);
    frame = row.frame;
    return heading === undefined ? { row, values } : { row, values, heading };
  });
  return {
    rows,
    extraTitles: extraColumns.map((column) => column.title),
    limits: pairs.some(({ value }) => value.limits !== undefined),
  };
}

const frameHeading = (frame: string): string =>
  frame === 'scan' ? "Coordinates in the scan's own axes" : `Coordinates in frame "${plainText(frame)}"`;

const POINT_COLUMNS: readonly TextColumn[] = [
  { title: 'rms', align: 'right' },
  { title: 'form', align: 'right' },
  { title: 'points', align: 'right' },
  { title: 'rejected', align: 'right' },
];

const pointCells = (row: SheetRow): string[] => [
  lengthText(row.rms),
  lengthText(row.form),
  row.used === undefined ? '' : countText(row.used),
  row.rejected === undefined ? '' : countText(row.rejected),
];

/** The plan's note on a feature, where its coordinates are told, how far it can be trusted, and what the tables say of its size. */
const featureWords = ({ note, where, uncertainty, region, advice = [] }: SheetRow): string[] =>
  [note, where, uncertainty, region, ...advice].flatMap((text) => (text ? [plainText(text)] : []));

/** The sheet in columns, or undefined where `width` has no room for them; points and residuals in columns or in words. */
function columnLines(sheet: Arranged, width: number, pointColumns: boolean): string[] | undefined {
  const columns: TextColumn[] = [
    { title: 'no.', align: 'right' },
    { title: 'feature', align: 'left' },
    { title: 'dimension', align: 'left' },
    { title: 'value', align: 'left' },
    ...sheet.extraTitles.map((title): TextColumn => ({ title, align: 'right' })),
    ...(sheet.limits
      ? [{ title: 'limits', align: 'left' } as const, { title: 'verdict', align: 'left' } as const]
      : []),
    ...(pointColumns ? POINT_COLUMNS : []),
  ];
  const rowsFor = (featureWidth: number): TextRow[] =>
    sheet.rows.flatMap(({ row, heading, values }): TextRow[] => [
      ...(heading === undefined ? [] : [{ heading }]),
      {
        cells: [
          [String(row.balloon)],
          [row.id, row.what].flatMap((text) => wrapText(plainText(text), featureWidth)),
          values.map((value) => value.name),
          values.map((value) => value.text),
          ...sheet.extraTitles.map((_, e) => values.map((value) => value.extra[e]!)),
          ...(sheet.limits ? [values.map((value) => value.limits), values.map((value) => value.verdict)] : []),
          ...(pointColumns ? pointCells(row).map((cell) => [cell]) : []),
        ],
        below: [...featureWords(row), ...(pointColumns ? [] : pointTexts(row))],
      },
    ]);
  const others = columnWidths(columns, rowsFor(0)).map((w, c) => (c === 1 ? 0 : w));
  const room = width - tableWidth(others);
  const featureWidth = Math.min(room, MAX_FEATURE_WIDTH);
  // Points and residuals move below the values sooner than a word of a feature is broken.
  const least = pointColumns ? Math.max(MIN_FEATURE_WIDTH, longestWord(sheet)) : MIN_FEATURE_WIDTH;
  return featureWidth < least ? undefined : tableLines(columns, rowsFor(featureWidth), width);
}

const longestWord = ({ rows }: Arranged): number =>
  Math.min(
    MAX_FEATURE_WIDTH,
    Math.max(0, ...rows.flatMap(({ row }) => `${row.id} ${row.what}`.split(/\s+/).map(textWidth))),
  );

/** The sheet as a block of lines a feature. */
function blockLines(sheet: Arranged, width: number): string[] {
  const indent = ' '.repeat(1 + Math.max(...sheet.rows.map(({ row }) => String(row.balloon).length), 1));
  const nameWidth = Math.max(0, ...sheet.rows.flatMap(({ values }) => values.map((value) => textWidth(value.name))));
  const lines: string[] = [];
  for (const { row, heading, values } of sheet.rows) {
    if (lines.length > 0) lines.push('');
    if (heading !== undefined) lines.push(heading, '');
    lines.push(`${String(row.balloon).padStart(indent.length - 1)} ${row.id}`);
    for (const text of [plainText(row.what), ...featureWords(row)])
      lines.push(...wrapText(text, width - indent.length).map((line) => indent + line));
    for (const value of values) {
      const own = `${value.name.padEnd(nameWidth)}  ${value.text}`.trimEnd();
      const beside = [
        ...sheet.extraTitles.flatMap((title, e) =>
          value.extra[e]!.trim() ? [`${title} ${value.extra[e]!.trim()}`] : [],
        ),
        ...(value.limits ? [value.verdict ? `${value.verdict}: ${value.limits}` : value.limits] : []),
      ].join(', ');
      const together = `${indent}${own}  ${beside}`.trimEnd();
      if (textWidth(together) <= width) lines.push(together);
      else lines.push(indent + own, ...wrapText(beside, width - indent.length - 2).map((line) => `${indent}  ${line}`));
    }
    for (const text of pointTexts(row))
      lines.push(...wrapText(text, width - indent.length).map((line) => indent + line));
  }
  return lines;
}

/** Points and residuals of a feature in words: `1,204 points, 33 rejected, rms 0.021, form 0.130`. */
function pointTexts(row: SheetRow): string[] {
  const points = row.used === undefined ? [] : [counted(row.used, 'point')];
  if (row.rejected !== undefined) points.push(`${countText(row.rejected)} rejected`);
  const lengths = row.rms === undefined ? [] : [`rms ${lengthText(row.rms)}`];
  if (row.form !== undefined) lengths.push(`form ${lengthText(row.form)}`);
  const all = [...points, ...lengths].join(', ');
  return all === '' ? [] : [all];
}

const lengthText = (length: number | undefined): string => (length === undefined ? '' : fixed(length, 3));

function legend(sheet: Arranged): string {
  const rows = sheet.rows.map(({ row }) => row);
  const parts: string[] = [];
  if (rows.some((row) => row.values.some((value) => value.uncertainty !== undefined)))
    parts.push(`±: expanded uncertainty, 95 %${rows.some(tellsFactor) ? ', of k standard uncertainties' : ''}.`);
  if (rows.some((row) => row.values.some((value) => isExact(value) && !value.given))) parts.push('± 0: by definition.');
  if (rows.some((row) => row.rms !== undefined))
    parts.push(
      'rms and form: root mean square, and highest to lowest, of the distances of its points from the feature, mm.',
    );
  if (rows.some((row) => row.values.some(({ name }) => name === 'offset')))
    parts.push("offset: of a face from the frame's origin, along its normal.");
  if (rows.some((row) => row.values.some(({ name, value }) => name === 'distance' && value < 0)))
    parts.push('distance: below 0 on the side of a face that its normal points away from.');
  if (rows.some((row) => row.rejected !== undefined)) parts.push('rejected: points left out of the fit as strays.');
  if (rows.some((row) => row.values.some((value) => value.verdict !== undefined && isUnsure(value))))
    parts.push(UNSURE);
  return parts.join(' ');
}

const tellsFactor = ({ uncertainty }: SheetRow): boolean => /\bk = /.test(uncertainty ?? '');

/** The steps that gave nothing and what waits for them, then what was left out. */
function failureLines(results: Results, width: number): string[] {
  const { failures, leftOut } = toldFailures(results.failed);
  const told = (one: ToldFailure): string[] =>
    wrapText(plainText(`- ${one.failed.message} ${waitingInWords(one)}`).trimEnd(), width, '  ');
  return [
    ...(failures.length > 0 ? ['', `Failed: ${failedInWords(results)}.`, ...failures.flatMap(told)] : []),
    ...(leftOut.length > 0 ? ['', 'Left out, being optional', ...leftOut.flatMap(told)] : []),
  ];
}

/** Warnings of features, each with its balloon number, then those of the whole. */
function warningLines(results: Results, width: number): string[] {
  const lines = toldWarnings(results).map(({ message, about, likewise }) => {
    const subject = about ? `${about.balloon} ${about.id}: ` : '';
    const others = likewise.map(({ balloon, id }) => `${balloon} ${id}`).join(', ');
    return plainText(`${subject}${message}${others ? ` Likewise ${others}.` : ''}`);
  });
  return lines.length === 0 ? [] : ['', 'Warnings', ...lines.flatMap((line) => wrapText(`- ${line}`, width, '  '))];
}

function changeLines({ warnings }: Results, width: number): string[] {
  const changes = warnings.filter(({ code }) => code === CHANGE);
  if (changes.length === 0) return [];
  return ['', 'Files', ...changes.flatMap(({ message }) => wrapText(`- ${plainText(message)}`, width, '  '))];
}

/** Whether the limits hold, and by how much those that do not are missed. */
function limitLines(results: Results, width: number): string[] {
  const limited = results.sheet.flatMap((row) =>
    row.values.filter((value) => value.verdict !== undefined).map((value) => ({ row, value })),
  );
  if (limited.length === 0) return [];
  const outside = limited.filter(({ value }) => value.verdict === 'outside');
  const lines = ['', `Limits: ${outside.length === 0 ? 'none' : outside.length} of ${limited.length} outside.`];
  for (const { row, value } of outside) lines.push(...wrapText(`- ${missText(row, value)}`, width, '  '));
  return lines;
}

/** How far inside its nearer limit a value is, in its unit; negative outside. */
const margin = ({ value, limits }: SheetValue): number =>
  Math.min(value - (limits?.min ?? Number.NEGATIVE_INFINITY), (limits?.max ?? Number.POSITIVE_INFINITY) - value);

function missText(row: SheetRow, value: SheetValue): string {
  const over = value.limits?.max !== undefined && value.value > value.limits.max;
  const limit = over ? value.limits?.max : value.limits?.min;
  const by = distanceText(-margin(value), value.unit);
  return `${row.balloon} ${row.id}: ${value.name} ${valueText(value)} ${value.unit} is ${by} ${over ? 'over' : 'under'} ${limit} ${value.unit}.`;
}

/** A distance from a limit with two digits, so that it never reads as nothing. */
const distanceText = (distance: number, unit: string): string =>
  `${shortNumber(Number(distance.toPrecision(2)), 9)} ${unit}`;
