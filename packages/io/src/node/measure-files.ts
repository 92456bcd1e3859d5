import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { checkPlan, FettleError, type Plan, type Results, type ResultsJson } from '@fettle/geom';
import { ALL_SCANS, FILE_LIST, outputNames } from '../deliver/output-name.js';
import { checkDrawings } from '../drawing/planned-drawings.js';
import { compareScans, type ScanComparison } from '../report/scan-comparison.js';
import { scanComparisonCsv } from '../report/scan-comparison-csv.js';
import { checkOutputs } from './input-files.js';
import { type MeasuredJob, measureJobs } from './measure-pool.js';
import type { MeasureStage, ReadingOptions } from './measure-scan.js';
import { makeFolder, writeSummary } from './outputs.js';
import { fileName } from './pipe.js';
import { scanFolders } from './scan-folders.js';
import { sweep } from './staging.js';

export interface MeasureFilesOptions extends ReadingOptions {
  /**
   * Folder for the outputs, made when missing: a folder in it for each scan, named by the scan's file, and
   * `all-scans.csv` once one could be measured. Absent: nothing is written.
   */
  readonly out?: string;
  /** The file the plan was read from, which no output may replace, as none may replace a scan. */
  readonly planFile?: string;
  /** Worker threads; default one a processor, no more than scans. Each holds one scan in memory. */
  readonly workers?: number;
  /**
   * Whether results hold what each step gave: regions, residuals, sections. Default true. False keeps the sheet, the frame
   * and the warnings only, for hundreds of scans at once.
   */
  readonly outcomes?: boolean;
  /** Whether each scan's JSON document comes with its results: made where the scan is measured, it needs no outcomes here. */
  readonly json?: boolean;
  onProgress?(progress: MeasureProgress): void;
  /** Stops all; the promise then fails with the signal's reason. */
  readonly signal?: AbortSignal;
}

/** What is going on with one of the scans. */
export type MeasureProgress = { readonly path: string } & (
  | MeasureStage
  | { readonly stage: 'measured' }
  | { readonly stage: 'failed'; readonly error: FettleError }
);

/** One scan of a batch: its results, or why there are none. */
export type MeasuredFile =
  | {
      readonly path: string;
      /** Of the scan in the summary, and of its folder. */
      readonly name: string;
      readonly results: Results;
      /** What {@link resultsToJson} gives, where it was asked for. */
      readonly json?: ResultsJson;
      /** Paths of the files written. */
      readonly files: readonly string[];
      readonly error?: undefined;
    }
  | {
      readonly path: string;
      readonly name: string;
      readonly error: FettleError;
      readonly results?: undefined;
      readonly json?: undefined;
    };

export interface MeasuredFiles {
  /** One a path, in the order of the paths. */
  readonly scans: readonly MeasuredFile[];
  /** The scans that could be measured, side by side, and what failed. */
  readonly summary: ScanComparison;
  /** Path of the table of all, where it was written. */
  readonly summaryFile?: string;
}

/**
 * Measures scan files by one plan, in worker threads. The results do not depend on the order of the paths or on the
 * number of workers. A scan that cannot be read, or on which nothing can be measured, is reported in its place; the others are measured.
 *
 * @param plan as {@link checkPlan} gives it, or the JSON it takes
 * @throws before any scan is read: PlanError (`plan-invalid`); FettleError `drawing-too-large`, `no-scans`, `workers`, `out-not-a-folder`, `output-is-input`,
 * `name-too-long`
 */
export async function measureFiles(
  plan: unknown,
  paths: readonly string[],
  options: MeasureFilesOptions = {},
): Promise<MeasuredFiles> {
  const { out } = options;
  if (!Array.isArray(paths))
    throw new FettleError('paths-no-list', 'measureFiles takes a list of paths: give [path] for a single scan.');
  const names = scanFolders(paths.map(fileName));
  const summaryFile = out === undefined ? undefined : join(out, ALL_SCANS);
  const scans = await measureInto(
    plan,
    paths.map((path, s) => ({ path, name: names[s]!, ...(out !== undefined && { folder: join(out, names[s]!) }) })),
    options,
    summaryFile,
  );
  const summary = compareScans(
    scans.flatMap((scan) => (scan.results ? [scan] : [])),
    scans.flatMap((scan) => (scan.error ? [scan] : [])),
  );
  if (summaryFile === undefined || summary.scans.length === 0) return { scans, summary };
  const folders = scans.flatMap(({ results, name }) => (results ? [name] : []));
  await writeSummary(out!, new TextEncoder().encode(scanComparisonCsv(summary)), folders);
  return { scans, summary, summaryFile };
}

interface NamedScan {
  readonly path: string;
  readonly name: string;
  readonly folder?: string;
}

/** Measures one scan by one plan, its outputs straight in `out`. */
export async function measureFile(
  plan: unknown,
  path: string,
  options: Omit<MeasureFilesOptions, 'workers'> = {},
): Promise<MeasuredFile> {
  const { out } = options;
  const scan: NamedScan = { path, name: fileName(path), ...(out !== undefined && { folder: out }) };
  const [measured] = await measureInto(plan, [scan], options);
  return measured!;
}

async function measureInto(
  json: unknown,
  scans: readonly NamedScan[],
  options: MeasureFilesOptions,
  summaryFile?: string,
): Promise<MeasuredFile[]> {
  const plan = checkPlan(json);
  checkDrawings(plan);
  if (scans.length === 0) throw new FettleError('no-scans', 'There is no scan to measure: name one file at least.');
  const { workers = Math.min(availableParallelism(), scans.length), out, onProgress, signal } = options;
  if (!Number.isInteger(workers) || workers < 1)
    throw new FettleError('workers', `The number of workers is ${workers}; it must be a whole number, 1 or more.`);
  await checkOutputs(
    [...outputPaths(plan, scans), ...(summaryFile === undefined ? [] : [summaryFile, join(out!, FILE_LIST)])],
    [
      ...(options.planFile === undefined ? [] : [{ what: 'plan', path: options.planFile } as const]),
      ...scans.map(({ path }) => ({ what: 'scan', path }) as const),
    ],
  );
  if (out !== undefined) {
    await makeFolder(out);
    for (const folder of new Set([out, ...scans.flatMap((scan) => scan.folder ?? [])])) await sweep(folder);
  }
  const jobs = scans.map(({ path, folder }) => ({ path, ...(folder !== undefined && { folder }) }));
  const measured = await measureJobs(plan, jobs, {
    workers,
    outcomes: options.outcomes ?? true,
    json: options.json ?? false,
    reading: {
      ...(options.units && { units: options.units }),
      ...(options.keepWhole !== undefined && { keepWhole: options.keepWhole }),
      ...(options.unpackedMost !== undefined && { unpackedMost: options.unpackedMost }),
    },
    onStage: (job, stage) => onProgress?.({ path: scans[job]!.path, ...stage }),
    onDone: (job, done) =>
      onProgress?.({
        path: scans[job]!.path,
        ...('error' in done ? { stage: 'failed', error: done.error } : { stage: 'measured' }),
      }),
    ...(signal && { signal }),
  });
  return measured.map((done, s) => measuredFile(scans[s]!, done));
}

/** All files that measuring may write for these scans. */
const outputPaths = (plan: Plan, scans: readonly NamedScan[]): string[] =>
  scans.flatMap(({ folder }) => (folder === undefined ? [] : outputNames(plan).map((name) => join(folder, name))));

function measuredFile({ path, name, folder }: NamedScan, done: MeasuredJob): MeasuredFile {
  if ('error' in done) return { path, name, error: done.error };
  const { results, json, files } = done;
  return { path, name, results, ...(json && { json }), files: files.map((file) => join(folder!, file)) };
}
