import type { Warning } from '../error.js';
import type { Frame } from '../math/frame.js';
import type { ScanNoise } from '../noise/scan-noise.js';
import type { Plan, StepName } from './plan.js';
import type { StepOutcome } from './step/outcome.js';
import type { Row } from './step/row.js';

/** One row of the job sheet: one for every step that gives a number (`fit`, `construct`, `frame`, `measure`, `by-hand`). */
export interface SheetRow extends Row {
  /** Number in the balloon on the marked-up drawing, from 1 in plan order. */
  readonly balloon: number;
  readonly id: string;
  readonly step: StepName;
  /** The plan's words about the step. */
  readonly note?: string;
  /** `scan`, or the id of the frame the coordinates are in: the latest before the step, else the plan's first. Where that gave nothing the row has none. */
  readonly frame: string;
}

/** A step that gave nothing. */
export interface FailedStep {
  readonly id: string;
  readonly step: StepName;
  /** Of the error it failed with; `step-waits` where it only waits for another. */
  readonly code: string;
  /** Its id in front. */
  readonly message: string;
  /** Id of the step that has to give something first. */
  readonly waitsFor?: string;
  /** It is optional, or rests on a step that is: the job does not fail by it. */
  readonly leftOut?: true;
}

/** How a scan was laid on the reference of a plan. */
export interface LaidScan {
  /** Scan to reference, column-major 4×4. */
  readonly matrix: readonly number[];
  /** Share of the scan that lies on the reference, 0 to 1. */
  readonly share: number;
  /** Root mean square distance there, mm. */
  readonly rms: number;
  /** By how much a place of the object may be off, at 95 %: what it adds to the choosing of regions, mm. */
  readonly off: number;
  /** Whether it lay there already. */
  readonly inPlace: boolean;
}

/** What a plan gives on one scan. */
export interface Results {
  readonly title: string;
  readonly plan: Plan;
  readonly scan: { readonly name: string; readonly points: number; readonly triangles: number };
  /** How the scan was laid on the plan's reference, where it has one. */
  readonly laid?: LaidScan;
  /** The scan's noise, where a step asked for it. */
  readonly noise?: ScanNoise;
  /** The last frame the plan made. */
  readonly frame?: Frame;
  /** Its id. */
  readonly frameId?: string;
  /** One a step that gave something, in plan order. */
  readonly outcomes: readonly StepOutcome[];
  /** The steps that gave nothing, in plan order. */
  readonly failed: readonly FailedStep[];
  readonly sheet: readonly SheetRow[];
  /** Of the plan as a whole. Those of a step are in its row, or here with its id in front when it has no row. */
  readonly warnings: readonly Warning[];
  /** True when no limit failed, and no step but those that were left out. */
  readonly passed: boolean;
}

/** Told before each step runs. */
export interface StepProgress {
  readonly id: string;
  readonly step: StepName;
  /** From 0. */
  readonly index: number;
  readonly count: number;
}

export interface RunOptions {
  onStep?(progress: StepProgress): void;
  /** Told of each step that gives nothing, as soon as that is known. */
  onFailed?(failed: FailedStep): void;
  /** Throws the error of the first step that fails and is not optional, instead of going on with what does not rest on it. */
  readonly stopAtFault?: boolean;
  /** An `AbortSignal`, or anything with its `aborted`: looked at before each step; `aborted` is thrown. */
  readonly signal?: { readonly aborted: boolean };
}
