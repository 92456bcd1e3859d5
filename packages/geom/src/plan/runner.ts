import { FettleError } from '../error.js';
import type { Scan } from '../scan/scan.js';
import type { profileOf } from '../section/outline/profile.js';
import { checkPlan } from './check.js';
import { inStep, type StepRefusal } from './failed-step.js';
import { fold, idsOf, type Made } from './fold.js';
import { laidScan } from './lay.js';
import type { Plan, Step } from './plan.js';
import type { Results, RunOptions } from './results.js';
import { resultsOf } from './results-of.js';
import { Context, type Done } from './step/context.js';
import { type Scanner, scannerOf } from './step/scanner.js';
import { kindOfStep } from './steps.js';

/** What became of a plan, step by step. */
export interface PlanRun {
  /** Of the steps that gave something. */
  readonly results: Results;
  /** The others, in plan order: `results.failed` with the errors themselves. */
  readonly refusals: readonly StepRefusal[];
}

export interface RunnerOptions extends RunOptions {
  /**
   * Finds the profiles of sections, as {@link profileOf} does, which is the default: they take longer than all else, and may be known
   * already. Where it throws `aborted` the step is tried again in the next run.
   */
  readonly profileOf?: typeof profileOf;
}

/** Runs plans on one scan, one after the other, and keeps what it can from one run to the next. */
export interface PlanRunner {
  /**
   * Runs a plan as `runPlan` does, with the same results, but gives them even where nothing could be measured.
   * Steps that are as they were, and rest on what is as it was, keep what they gave.
   *
   * @throws PlanError (`plan-invalid`) as `checkPlan` does; FettleError `scan-not-laid` where the plan has a reference and the scan lies
   * elsewhere; `aborted` when the signal says so
   */
  run(plan: Plan, options?: RunnerOptions): PlanRun;
}

/** What a step came to, and all it came of. */
interface Kept {
  readonly step: Step;
  readonly scan: Scan;
  readonly scanner: Scanner | undefined;
  readonly on: readonly (Done | undefined)[];
  readonly made: Made;
}

export function planRunner(scan: Scan): PlanRunner {
  const context = new Context(scan);
  let kept: ReadonlyMap<string, Kept> = new Map();
  return {
    run(plan, options = {}) {
      checkPlan(plan);
      const laid = laidScan(plan, scan);
      context.begin(scannerOf(plan), options.profileOf);
      // What an earlier step no longer in the plan gave is let go of once the run is over, even by an error.
      const now = new Map<string, Kept>();
      const come = (step: Step): Made => {
        const known = kept.get(step.id);
        const one = known && isAsBefore(known, step, context) ? known : make(step, context);
        now.set(step.id, one);
        return one.made;
      };
      try {
        const refusals = fold(plan, context, come, options);
        return { results: { ...resultsOf(plan, scan, context, refusals), ...(laid && { laid }) }, refusals };
      } finally {
        kept = now;
      }
    },
  };
}

function make(step: Step, context: Context): Kept {
  const { scan, scanner } = context;
  const on = idsOf(step).map((id) => context.done(id));
  try {
    return { step, scan, scanner, on, made: { done: kindOfStep(step).run(step, context) } };
  } catch (error) {
    return { step, scan, scanner, on, made: { error: inStep(step.id, error) } };
  }
}

function isAsBefore(kept: Kept, step: Step, context: Context): boolean {
  // A delivery rests on every fit before it, named or not, and costs next to nothing.
  if (step.step === 'deliver') return false;
  if ('error' in kept.made && kept.made.error instanceof FettleError && kept.made.error.code === 'aborted')
    return false;
  return (
    kept.scan === context.scan &&
    isSame(kept.scanner, context.scanner) &&
    isSame(kept.step, step) &&
    idsOf(step).every((id, i) => context.done(id) === kept.on[i])
  );
}

/** Whether two things say the same as JSON, fields in the same order. */
const isSame = (a: unknown, b: unknown): boolean => a === b || JSON.stringify(a) === JSON.stringify(b);
