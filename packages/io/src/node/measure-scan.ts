import { basename } from 'node:path';
import { type Plan, type Results, runPlan, type StepProgress } from '@fettle/geom';
import type { LengthUnit } from '../read/units.js';
import { openScan } from './files.js';
import { writeOutputs } from './outputs.js';

/** What is being done with a scan. */
export type MeasureStage =
  | { readonly stage: 'reading'; readonly bytes: number; readonly total?: number }
  | { readonly stage: 'measuring'; readonly step: StepProgress }
  | { readonly stage: 'writing'; readonly file: string };

export interface MeasureScanOptions {
  /** Folder for the outputs; made when missing. Absent: nothing is written. */
  readonly folder?: string;
  /** Of the file; default: as it says, else mm. */
  readonly units?: LengthUnit;
  onStage?(stage: MeasureStage): void;
  readonly signal?: AbortSignal;
}

export interface MeasuredScan {
  readonly results: Results;
  /** Names of the files written into the folder. */
  readonly files: readonly string[];
}

/** One scan by one plan: reads, measures, writes. */
export async function measureScan(plan: Plan, path: string, options: MeasureScanOptions = {}): Promise<MeasuredScan> {
  const { onStage, signal, folder, units } = options;
  const scan = await openScan(path, {
    name: basename(path),
    onProgress: (bytes, total) => onStage?.({ stage: 'reading', bytes, ...(total !== undefined && { total }) }),
    ...(units && { units }),
    ...(signal && { signal }),
  });
  const results = runPlan(plan, scan, {
    onStep: (step) => onStage?.({ stage: 'measuring', step }),
    ...(signal && { signal }),
  });
  if (folder === undefined) return { results, files: [] };
  const files = await writeOutputs(folder, scan, results, {
    onFile: (file) => onStage?.({ stage: 'writing', file }),
    ...(signal && { signal }),
  });
  return { results, files };
}
