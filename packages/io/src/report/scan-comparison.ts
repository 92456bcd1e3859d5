import type { FettleError, Limits, Results, SheetRow, SheetValue, Warning } from '@fettle/geom';
import { isUnsure } from '../text/number-text.js';

/** One value of the job sheet on every scan. */
export interface ComparedValue {
  readonly balloon: number;
  readonly id: string;
  readonly what: string;
  readonly frame: string;
  /** Of the value: `x`, `diameter` … */
  readonly name: string;
  readonly unit: SheetValue['unit'];
  readonly limits?: Limits;
  /** One a scan, in the order of `scans`; undefined where the scan has no such value. */
  readonly values: readonly (number | undefined)[];
  /** The largest stated on any scan; absent where none is. */
  readonly uncertainty?: number;
  readonly mean: number;
  /** Of the scans, by n − 1; absent for fewer than two. */
  readonly standardDeviation?: number;
  /** Largest minus smallest. */
  readonly range: number;
  /** The scan farthest from the mean and how far, signed; absent for fewer than three or when all agree. */
  readonly farthest?: { readonly scan: string; readonly off: number };
  /** Scans on which it is outside its limits. */
  readonly outside: readonly string[];
  /** Scans on which a limit lies inside the ±, so that the verdict could be the other. */
  readonly unsure: readonly string[];
}

/** A step that gave nothing on one scan, or a scan on which nothing could be measured. */
export interface ScanFailure {
  /** Its name. */
  readonly scan: string;
  /** Its file; absent where it was not said. */
  readonly path?: string;
  /** Id of the step; absent where the scan as a whole could not be read or measured. */
  readonly step?: string;
  readonly code: string;
  readonly message: string;
  readonly waitsFor?: string;
  readonly leftOut?: true;
}

/** One plan's job sheets on several scans, side by side. */
export interface ScanComparison {
  readonly title: string;
  /** Names of the scans measured, in the order given. */
  readonly scans: readonly string[];
  /** Their files, in the same order; undefined where it was not said. */
  readonly paths: readonly (string | undefined)[];
  readonly rows: readonly ComparedValue[];
  /** About the comparison, then those of the scans, told once for all scans that have them. */
  readonly warnings: readonly Warning[];
  /** What failed: by scan those measured in part, then those not measured at all. */
  readonly failures: readonly ScanFailure[];
  /** True when every scan was measured, and no limit and no step failed on any. */
  readonly passed: boolean;
}

export interface NamedResults {
  /** Of the scan, unique among those compared. */
  readonly name: string;
  /** Its file, for the reader. */
  readonly path?: string;
  readonly results: Pick<Results, 'title' | 'sheet' | 'warnings' | 'passed'> & Partial<Pick<Results, 'failed'>>;
}

/** A scan that could not be read, or on which nothing could be measured. */
export interface UnmeasuredScan {
  readonly name: string;
  readonly path?: string;
  readonly error: FettleError;
}

/**
 * Sets job sheets of one plan beside each other, value by value but for sizes that the plan gives. The figures do not depend on
 * the order of the scans: sums run over sorted values, and of two scans equally far off the first by name is named.
 *
 * @param unmeasured the scans that have no results
 */
export function compareScans(
  measured: readonly NamedResults[],
  unmeasured: readonly UnmeasuredScan[] = [],
): ScanComparison {
  const rows = new Map<string, { row: SheetRow; value: SheetValue; values: (SheetValue | undefined)[] }>();
  measured.forEach(({ results }, s) => {
    for (const row of results.sheet) {
      for (const value of row.values) {
        if (value.given) continue;
        const key = `${row.id} ${value.name}`;
        const entry = rows.get(key) ?? { row, value, values: new Array(measured.length).fill(undefined) };
        entry.values[s] = value;
        rows.set(key, entry);
      }
    }
  });
  const scans = measured.map(({ name }) => name);
  const compared = [...rows.values()]
    .sort((a, b) => a.row.balloon - b.row.balloon)
    .map(({ row, value, values }): ComparedValue => {
      const stated = values.flatMap((v) => v?.uncertainty ?? []);
      return {
        balloon: row.balloon,
        id: row.id,
        what: row.what,
        frame: row.frame,
        name: value.name,
        unit: value.unit,
        ...(value.limits && { limits: value.limits }),
        values: values.map((v) => v?.value),
        ...(stated.length > 0 && { uncertainty: Math.max(...stated) }),
        ...spread(values, scans),
        outside: scans.filter((_, s) => values[s]?.verdict === 'outside'),
        unsure: scans.filter((_, s) => values[s]?.verdict !== undefined && isUnsure(values[s])),
      };
    });
  return {
    title: measured[0]?.results.title ?? '',
    scans,
    paths: measured.map(({ path }) => path),
    rows: compared,
    warnings: [...comparisonWarnings(compared, measured), ...toldElsewhere(measured), ...warningsOfScans(measured)],
    failures: [...measured.flatMap(failuresOf), ...unmeasured.map(asFailure)],
    passed: unmeasured.length === 0 && measured.every(({ results }) => results.passed),
  };
}

const failuresOf = ({ name, path, results: { failed = [] } }: NamedResults): ScanFailure[] =>
  failed.map(({ id, code, message, waitsFor, leftOut }) => ({
    scan: name,
    ...(path !== undefined && { path }),
    step: id,
    code,
    message,
    ...(waitsFor !== undefined && { waitsFor }),
    ...(leftOut && { leftOut }),
  }));

const asFailure = ({ name, path, error: { code, message } }: UnmeasuredScan): ScanFailure => ({
  scan: name,
  ...(path !== undefined && { path }),
  code,
  message,
});

type Spread = Pick<ComparedValue, 'mean' | 'standardDeviation' | 'range' | 'farthest'>;

function spread(values: readonly (SheetValue | undefined)[], scans: readonly string[]): Spread {
  const present = values.flatMap((v, s) => (v === undefined ? [] : [{ value: v.value, scan: scans[s]! }]));
  present.sort((a, b) => a.value - b.value || (a.scan < b.scan ? -1 : 1));
  const n = present.length;
  const first = present[0]!.value;
  // About the smallest value, so that equal values give their own mean and no spread, to the last digit.
  const mean = first + present.reduce((sum, { value }) => sum + (value - first), 0) / n;
  const range = present[n - 1]!.value - first;
  if (n < 2) return { mean, range };
  const squares = present.reduce((sum, { value }) => sum + (value - mean) ** 2, 0);
  const standardDeviation = Math.sqrt(squares / (n - 1));
  if (n < 3 || range === 0) return { mean, standardDeviation, range };
  const farthest = present.reduce((far, one) => {
    const gain = Math.abs(one.value - mean) - Math.abs(far.value - mean);
    return gain > 0 || (gain === 0 && one.scan < far.scan) ? one : far;
  });
  return { mean, standardDeviation, range, farthest: { scan: farthest.scan, off: farthest.value - mean } };
}

function comparisonWarnings(rows: readonly ComparedValue[], measured: readonly NamedResults[]): Warning[] {
  const warnings: Warning[] = [];
  const scans = measured.map(({ name }) => name);
  // Where the whole step failed, that is told.
  const failedOn = (s: number, id: string) => measured[s]!.results.failed?.some((one) => one.id === id);
  const unframed = [...new Set(rows.filter(inScanAxes).map(({ id }) => id))];
  if (unframed.length > 0 && scans.length > 1)
    warnings.push({
      code: 'not-in-a-frame',
      message:
        `The coordinates of ${unframed.join(', ')} are in each scan's own axes: their spread says how the scans lie, ` +
        'not how they measure. Set a datum frame in the plan.',
    });
  for (const row of rows) {
    const lacking = scans.filter((_, s) => row.values[s] === undefined && !failedOn(s, row.id));
    if (lacking.length > 0)
      warnings.push({
        code: 'value-missing',
        message: `${row.id}: no ${row.name} on ${lacking.join(', ')}; mean and spread are over the others.`,
      });
  }
  return warnings;
}

const inScanAxes = (row: ComparedValue): boolean => row.frame === 'scan' && /^(x|y|z|angle-[xyz])$/.test(row.name);

/** Axes whose coordinates are told at one place on one scan and at another on the next. */
function toldElsewhere(measured: readonly NamedResults[]): Warning[] {
  const places = new Map<string, Set<string>>();
  for (const { results } of measured)
    for (const { id, where } of results.sheet)
      if (where !== undefined) places.set(id, (places.get(id) ?? new Set()).add(where));
  return [...places].flatMap(([id, told]) =>
    told.size < 2
      ? []
      : {
          code: 'told-elsewhere',
          message: `${id}: not told at the same place on all scans (${[...told].sort().join('; ')}): its lean is part of the spread.`,
        },
  );
}

/** The warnings of the scans: of one kind and about one feature only the first, with the scans that have it. */
function warningsOfScans(measured: readonly NamedResults[]): Warning[] {
  const kinds = new Map<string, { warning: Warning; about: string; scans: Set<string> }>();
  for (const { name, results } of measured) {
    const tell = (warning: Warning, about: string): void => {
      const key = `${about}${warning.code}`;
      const kind = kinds.get(key) ?? { warning, about, scans: new Set() };
      kind.scans.add(name);
      kinds.set(key, kind);
    };
    for (const warning of results.warnings) tell(warning, '');
    for (const row of results.sheet) for (const warning of row.warnings) tell(warning, `${row.balloon} ${row.id}, `);
  }
  return [...kinds.values()].map(({ warning: { code, message }, about, scans }) => {
    const names = [...scans];
    const on = names.length > 1 && names.length === measured.length ? 'all scans' : names.join(', ');
    // The words hold figures, and those are of one scan.
    const words = names.length > 1 ? `${message} (In the figures of ${names[0]}.)` : message;
    return { code, message: `${about}on ${on}: ${words}` };
  });
}
