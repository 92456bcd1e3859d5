import type { Plan, ResultsJson } from '@fettle/geom';
import type { MeasureStage, ReadingOptions } from './measure-scan.js';
import type { PackedResults } from './packed-results.js';

/** Given to a worker when it starts. */
export interface WorkerSetting {
  readonly plan: Plan;
  /** Raised once all is to stop: see stop-flag.ts. */
  readonly stop: SharedArrayBuffer;
  /** Whether results come back with what each step gave, or with the sheet alone. */
  readonly outcomes: boolean;
  /** Whether the JSON document of the results comes with them. */
  readonly json: boolean;
  readonly reading: ReadingOptions;
}

/** To a worker: one scan to measure. */
export interface MeasureJob {
  readonly path: string;
  /** Where the outputs go. Absent: nothing is written. */
  readonly folder?: string;
}

/** From a worker, about the job it has. */
export type WorkerMessage =
  | { readonly kind: 'stage'; readonly stage: MeasureStage }
  | {
      readonly kind: 'measured';
      readonly results: PackedResults;
      readonly json?: ResultsJson;
      readonly files: readonly string[];
    }
  | { readonly kind: 'failed'; readonly code: string; readonly message: string; readonly stack?: string };
