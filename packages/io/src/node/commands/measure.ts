import { basename, relative } from 'node:path';
import { type FailedStep, FettleError, type Results } from '@fettle/geom';
import { type Command, InvalidArgumentError } from 'commander';
import { failedInWords } from '../../report/failed-steps.js';
import { jobSheetTable } from '../../report/job-sheet-table.js';
import { scanComparisonTable } from '../../report/scan-comparison-table.js';
import { counted, megabytes } from '../../text/number-text.js';
import { checkOutputs } from '../input-files.js';
import {
  type MeasuredFile,
  type MeasureFilesOptions,
  type MeasureProgress,
  measureFile,
  measureFiles,
} from '../measure-files.js';
import type { ReadingOptions } from '../measure-scan.js';
import { readPlan } from '../plan-file.js';
import { ProgressLine } from '../progress-line.js';
import { writeWithReference } from '../reference-file.js';
import { EXIT } from './exit-code.js';
import { interruption } from './interruption.js';
import { errorJson, errorLine, outputWidth, print, printJson } from './output.js';
import { keepWholeOption, unitsOption, unpackedMostOption } from './reading-options.js';
import type { Run } from './run.js';
import { scanPaths } from './scan-paths.js';

interface Options extends ReadingOptions {
  readonly out?: string;
  readonly workers?: number;
  readonly json?: true;
  readonly keepReference?: string;
}

export function addMeasure(program: Command, run: Run): void {
  program
    .command('measure')
    .summary('measure scans by a plan')
    .description(
      'Measures a scan by a plan: sets the datum frame, fits and constructs the features, checks the limits and prints ' +
        'the job sheet. Several scans are measured by the same plan, side by side.',
    )
    .argument('<plan>', 'plan, a JSON file (fettle schema prints its schema)')
    .argument(
      '<scans...>',
      'scan files: PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or lists of points, told by their content; - for standard input',
    )
    .option('-o, --out <folder>', 'write results.json, job-sheet.csv and the scan in its datum frame into this folder')
    .option('-w, --workers <count>', 'scans measured at the same time; default: one a processor', wholeNumber)
    .addOption(unitsOption())
    .addOption(keepWholeOption())
    .addOption(unpackedMostOption())
    .option(
      '--keep-reference <file>',
      'write the plan with what this scan shows into this file: scans in any other axes are then laid on it first',
    )
    .option('--json', 'print one JSON document instead of the job sheet')
    .addHelpText(
      'after',
      `
Examples:
  fettle measure plan.json pump.ply                      print the job sheet
  fettle measure plan.json pump.ply --out out            and write the files into out/
  fettle measure plan.json monday/*.ply --out monday     a folder in monday/ for each scan, all-scans.csv over all
  fettle measure plan.json pump.ply --json > pump.json   the results for another program
  gunzip -c pump.ply.gz | fettle measure plan.json -     the scan from standard input

One scan's files go straight into the folder. Earlier files of the same names are replaced, each whole or not at all.
What does not rest on a failing step is measured and written; what failed, and what waits for it, is told.
Exit code: 0 measured, 1 a limit or a step failed, 2 wrong usage or an input that cannot be used.`,
    )
    .action((plan: string, given: string[], options: Options) =>
      run(async () => {
        const scans = await scanPaths(given, plan);
        return scans.length === 1 ? measureOne(plan, scans[0]!, options) : measureSeveral(plan, scans, options);
      }),
    );
}

async function measureOne(planPath: string, path: string, options: Options): Promise<number> {
  const { out, json, keepReference } = options;
  const plan = await readPlan(planPath);
  if (keepReference !== undefined) await checkOutputs([keepReference], inputsOf(planPath, [path]));
  const measured = await watched([path], (watch) =>
    measureFile(plan, path, { ...watch, ...runnerOptions(planPath, options) }),
  );
  if (measured.error) throw measured.error;
  const { results } = measured;
  if (keepReference !== undefined) await writeWithReference(keepReference, plan, path, options);
  if (json) printJson(measured.json);
  else {
    print(jobSheetTable(results, { width: outputWidth() }));
    print(writtenText(measured, out));
  }
  const failed = failedInWords(results);
  if (failed !== '') errorLine(`${failed}.`);
  return results.passed ? EXIT.passed : EXIT.failed;
}

async function measureSeveral(planPath: string, paths: readonly string[], options: Options): Promise<number> {
  const { out, json } = options;
  if (options.keepReference !== undefined)
    throw new FettleError('reference-of-several', 'A plan keeps one reference: name the one scan it was made on.');
  const plan = await readPlan(planPath);
  const { scans, summary, summaryFile } = await watched(paths, (watch) =>
    measureFiles(plan, paths, { ...watch, ...runnerOptions(planPath, options) }),
  );
  const failures = scans.filter((scan) => scan.error !== undefined);
  if (json) {
    printJson({ scans: scans.map(scanJson), summary });
  } else {
    if (summary.scans.length > 0) print(scanComparisonTable(summary, { width: outputWidth() }));
    if (summaryFile !== undefined) {
      const folders = counted(summary.scans.length, 'folder');
      print(`\nWritten to ${out}: ${basename(summaryFile)}, and ${folders} with the files of each scan\n`);
    }
  }
  for (const { path, error } of failures) errorLine(aboutFile(path, error!));
  const all = counted(scans.length, 'scan');
  const inPart = scans.filter(({ results }) => results?.failed.some(({ leftOut }) => !leftOut));
  if (inPart.length > 0) errorLine(`${inPart.length} of ${all} could be measured in part only.`);
  if (failures.length > 0) errorLine(`${failures.length} of ${all} could not be measured.`);
  return failures.length > 0 ? EXIT.refused : summary.passed ? EXIT.passed : EXIT.failed;
}

const inputsOf = (plan: string, scans: readonly string[]): Parameters<typeof checkOutputs>[1] => [
  { what: 'plan', path: plan },
  ...scans.map((path) => ({ what: 'scan', path }) as const),
];

/** The sheet is enough for the tables; what each step gave, of many scans, would not fit into memory. */
const runnerOptions = (
  planFile: string,
  { out, workers, json, keepReference: _, ...reading }: Options,
): MeasureFilesOptions => ({
  ...reading,
  planFile,
  outcomes: false,
  json: json === true,
  ...(out !== undefined && { out }),
  ...(workers !== undefined && { workers }),
});

type Measured = Extract<MeasuredFile, { results: Results }>;

const scanJson = (scan: MeasuredFile): object =>
  scan.results
    ? { path: scan.path, name: scan.name, files: scan.files, results: scan.json }
    : { path: scan.path, name: scan.name, ...errorJson(scan.error) };

/** An error's message, with the file's path in front where it does not name it. */
const aboutFile = (path: string, error: FettleError): FettleError =>
  error.message.includes(basename(path))
    ? error
    : new FettleError(error.code, `${path}: ${error.message}`, { cause: error });

function writtenText({ results, files }: Measured, out: string | undefined): string {
  if (out === undefined) return '\nNothing is written without --out FOLDER.\n';
  const names = files.map((file) => relative(out, file)).join(', ');
  const unset = results.frame || files.length > 2 ? '' : '; the plan makes no frame to set the scan on';
  return `\nWritten to ${out}: ${names}${unset}\n`;
}

/** Runs work with its progress on the terminal, if there is one, and stopped by Ctrl-C. */
async function watched<T>(
  paths: readonly string[],
  work: (watch: { onProgress(progress: MeasureProgress): void; signal: AbortSignal }) => Promise<T>,
): Promise<T> {
  const line = new ProgressLine(process.stderr);
  const doing = new Map<string, string>();
  let done = 0;
  const { signal, end } = interruption();
  try {
    return await work({
      signal,
      onProgress: (progress) => {
        if (progress.stage === 'measured' || progress.stage === 'failed') {
          doing.delete(progress.path);
          done++;
        } else if (progress.stage === 'step-failed') {
          line.clear();
          tellFailed(progress.path, progress.failed, paths.length > 1);
        } else doing.set(progress.path, stageText(progress));
        const all = paths.length === 1 ? [] : [`${done} of ${counted(paths.length, 'scan')} done`];
        line.show([...all, ...[...doing].map(([path, text]) => `${basename(path)}: ${text}`)].join('  '));
      },
    });
  } finally {
    end();
    line.clear();
  }
}

/** Says at once that a step failed: whoever waits may want to stop. What only waits for another is told at the end. */
function tellFailed(path: string, { message, waitsFor, leftOut }: FailedStep, isOneOfSeveral: boolean): void {
  if (waitsFor !== undefined) return;
  const what = leftOut ? `left out: ${message}` : message;
  errorLine(new Error(isOneOfSeveral ? `${path}: ${what}` : what));
}

function stageText(progress: MeasureProgress): string {
  switch (progress.stage) {
    case 'reading':
      return `reading ${megabytes(progress.bytes)}${progress.total ? ` of ${megabytes(progress.total)}` : ''} MB`;
    case 'measuring':
      return `step ${progress.step.index + 1} of ${progress.step.count}, ${progress.step.id}`;
    case 'writing':
      return `writing ${progress.file}${progress.bytes > 0 ? `, ${megabytes(progress.bytes)} MB` : ''}`;
    default:
      return progress.stage;
  }
}

function wholeNumber(text: string): number {
  const number = Number(text);
  if (!Number.isInteger(number) || number < 1) throw new InvalidArgumentError('It must be a whole number, 1 or more.');
  return number;
}
