import {
  bounds,
  type FailedStep,
  layOnReference,
  type Plan,
  type Results,
  runPlan,
  type StepProgress,
  type Warning,
} from '@fettle/geom';
import { doubtfulSize } from '../read/plausible-size.js';
import type { ReadOptions } from '../read/read-scan.js';
import type { ReadScan } from '../read/scan-source.js';
import { type FileSource, openScan, openScanWithSource } from './files.js';
import { checkMeasuring } from './memory.js';
import { writeOutputs } from './outputs.js';
import { fileName } from './pipe.js';

/** What is being done with a scan. */
export type MeasureStage =
  | { readonly stage: 'reading'; readonly bytes: number; readonly total?: number }
  | { readonly stage: 'measuring'; readonly step: StepProgress }
  /** A step gave nothing; what does not rest on it is measured. */
  | { readonly stage: 'step-failed'; readonly failed: FailedStep }
  | { readonly stage: 'writing'; readonly file: string; readonly bytes: number };

/** How scan files are to be read. */
export type ReadingOptions = Pick<ReadOptions, 'units' | 'keepWhole' | 'unpackedMost'>;

export interface MeasureScanOptions {
  /** Folder for the outputs; made when missing. Absent: nothing is written. */
  readonly folder?: string;
  readonly reading?: ReadingOptions;
  onStage?(stage: MeasureStage): void;
  readonly signal?: AbortSignal;
}

export interface MeasuredScan {
  readonly results: Results;
  /** Names of the files written into the folder. */
  readonly files: readonly string[];
}

/** Doubt of a scan's unit that its reader did not tell already, and that whoever measures did not settle. */
function sizeDoubt(scan: ReadScan): readonly Warning[] {
  const { unit, unitFrom, warnings } = scan.source;
  if (unitFrom === 'caller' || warnings.some(({ code }) => code === 'implausible-extent')) return [];
  const { min, max } = bounds(scan);
  const sides = max.map((m, k) => m - min[k]!);
  const doubt = doubtfulSize(scan.name, sides, unit);
  return doubt ? [doubt] : [];
}

/** One scan by one plan: reads, measures, writes. */
export async function measureScan(plan: Plan, path: string, options: MeasureScanOptions = {}): Promise<MeasuredScan> {
  const { onStage, signal, folder, reading } = options;
  const how = {
    ...reading,
    name: fileName(path),
    onProgress: (bytes: number, total: number) =>
      onStage?.({ stage: 'reading', bytes, ...(total !== undefined && { total }) }),
    ...(signal && { signal }),
  };
  // Only what is written says of which bytes it was made.
  const { scan: asRead, source }: { scan: ReadScan; source?: FileSource } =
    folder === undefined ? { scan: await openScan(path, how) } : await openScanWithSource(path, how);
  checkMeasuring(asRead);
  const scan = layOnReference(plan, asRead);
  const measured = runPlan(plan, scan, {
    onStep: (step) => onStage?.({ stage: 'measuring', step }),
    onFailed: (failed) => onStage?.({ stage: 'step-failed', failed }),
    ...(signal && { signal }),
  });
  const told = { ...measured, warnings: [...scan.source.warnings, ...sizeDoubt(scan), ...measured.warnings] };
  if (folder === undefined) return { results: told, files: [] };
  return await writeOutputs(folder, scan, told, {
    ...(source && { source }),
    onProgress: (file, bytes) => onStage?.({ stage: 'writing', file, bytes }),
    ...(signal && { signal }),
  });
}
