import { FettleError, type Warning } from '../error.js';
import type { Scan } from '../scan/scan.js';
import type { profileOf } from '../section/profile.js';
import { checkPlan } from './check.js';
import { Context, type Done } from './context.js';
import { type Plan, type Scanner, type Step, scannerOf } from './plan.js';
import type { Results, RunOptions, StepOutcome } from './results.js';
import { jobSheet } from './sheet.js';
import { kindOfStep, stepReferences } from './steps.js';

/** A step that gave nothing. */
export interface StepRefusal {
  readonly id: string;
  /** What it failed with, its id in front of the message; `step-waits` where it only waits for another. */
  readonly error: unknown;
  /** Id of the step that has to give something first. */
  readonly waitsFor?: string;
}

/** What became of a plan, step by step. */
export interface PlanRun {
  /** Of the steps that gave something. */
  readonly results: Results;
  /** The others, in plan order. */
  readonly refusals: readonly StepRefusal[];
}

export interface RunnerOptions extends RunOptions {
  /**
   * Finds the profiles of sections, as {@link profileOf} does, which is the default: they take longer than all else, and may be known
   * already. Where it throws `aborted` the step is tried again in the next run.
   */
  readonly profileOf?: typeof profileOf;
  /** Told of a step that gives nothing; what it throws ends the run. */
  onRefusal?(refusal: StepRefusal): void;
}

/** Runs plans on one scan, one after the other, and keeps what it can from one run to the next. */
export interface PlanRunner {
  /**
   * Runs a plan as `runPlan` does, with the same results, but goes on after a step that fails with those that do not rest on it.
   * Steps that are as they were, and rest on what is as it was, keep what they gave.
   *
   * @throws PlanError (`plan-invalid`) as `checkPlan` does; FettleError `aborted` when the signal says so
   */
  run(plan: Plan, options?: RunnerOptions): PlanRun;
}

/** What a step came to, and all it came of. */
interface Kept {
  readonly step: Step;
  readonly scan: Scan;
  readonly scanner: Scanner | undefined;
  readonly on: readonly (Done | undefined)[];
  readonly made: { readonly done: Done } | { readonly error: unknown };
}

export function planRunner(scan: Scan): PlanRunner {
  const context = new Context(scan);
  let kept: ReadonlyMap<string, Kept> = new Map();
  return {
    run(plan, options = {}) {
      checkPlan(plan);
      context.begin(scannerOf(plan), options.profileOf);
      // What an earlier step no longer in the plan gave is let go of once the run is over, even by an error.
      const now = new Map<string, Kept>();
      try {
        const refusals = fold(
          plan,
          context,
          (step) => {
            const known = kept.get(step.id);
            const made = known && isAsBefore(known, step, context) ? known : make(step, context);
            now.set(step.id, made);
            return made;
          },
          options,
        );
        return { results: resultsOf(plan, scan, context), refusals };
      } finally {
        kept = now;
      }
    },
  };
}

/** Every step in order, each on what those before it gave. */
function fold(plan: Plan, context: Context, come: (step: Step) => Kept, options: RunnerOptions): StepRefusal[] {
  const { scan } = context;
  const refusals: StepRefusal[] = [];
  let unprepared: string | undefined;
  for (const [index, step] of plan.steps.entries()) {
    const { id } = step;
    if (options.signal?.aborted) throw new FettleError('aborted', `${scan.name}: stopped before step ${id}.`);
    options.onStep?.({ id, step: step.step, index, count: plan.steps.length });
    const waitsFor = unprepared ?? idsOf(step).find((other) => context.done(other) === undefined);
    const refusal = waitsFor === undefined ? carryOut(step, context, come) : waiting(id, waitsFor);
    if (refusal === undefined) continue;
    refusals.push(refusal);
    options.onRefusal?.(refusal);
    if (step.step === 'prepare') unprepared ??= id;
  }
  return refusals;
}

function carryOut(step: Step, context: Context, come: (step: Step) => Kept): StepRefusal | undefined {
  const { made } = come(step);
  if ('error' in made) return { id: step.id, error: made.error };
  context.add(made.done);
  return undefined;
}

const waiting = (id: string, waitsFor: string): StepRefusal => ({
  id,
  error: new FettleError(
    'step-waits',
    `${id}: waits for "${waitsFor}", which gave nothing. Mend that step, or take both out.`,
  ),
  waitsFor,
});

function make(step: Step, context: Context): Kept {
  const { scan, scanner } = context;
  const on = idsOf(step).map((id) => context.done(id));
  try {
    return { step, scan, scanner, on, made: { done: kindOfStep(step).run(step, context) } };
  } catch (error) {
    return { step, scan, scanner, on, made: { error: inStep(step.id, error) } };
  }
}

/** Ids of the earlier steps a step rests on. */
const idsOf = (step: Step): string[] => stepReferences(step).filter((id) => id !== 'all');

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

/** An error of a step with the step's id in front; its code stays. */
function inStep(id: string, error: unknown): unknown {
  if (!(error instanceof FettleError)) return error;
  return new FettleError(error.code, `${id}: ${error.message}`, { cause: error });
}

/** Warnings of steps that have no row on the job sheet, with the step's id in front. */
const ofRowless = (outcome: StepOutcome): readonly Warning[] =>
  outcome.kind === 'prepare' || outcome.kind === 'region' || outcome.kind === 'section'
    ? (outcome.warnings ?? []).map(({ code, message }) => ({ code, message: `${outcome.id}: ${message}` }))
    : [];

/** Fields of the plan's head that were read under an earlier name. */
const earlierNames = ({ scanner }: Plan): readonly Warning[] =>
  scanner?.perMetre === undefined
    ? []
    : [
        {
          code: 'earlier-name',
          message:
            'The plan names perMetre of its scanner: it was read as perMeter, its present name. Rename it in the plan.',
        },
      ];

function resultsOf(plan: Plan, scan: Scan, context: Context): Results {
  const outcomes = plan.steps.flatMap(({ id }) => context.done(id)?.outcome ?? []);
  const sheet = jobSheet(plan, context);
  const last = outcomes.findLast((outcome) => outcome.kind === 'frame');
  return {
    title: plan.title,
    plan,
    scan: {
      name: scan.name,
      points: scan.positions.length / 3,
      triangles: (scan.triangles?.length ?? 0) / 3,
    },
    ...(last && { frame: last.frame, frameId: last.id }),
    outcomes,
    sheet,
    warnings: [...earlierNames(plan), ...outcomes.flatMap(ofRowless)],
    passed: sheet.every((row) => row.values.every((value) => value.verdict !== 'outside')),
  };
}
