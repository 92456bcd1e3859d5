import { FettleError, type Warning } from '../error.js';
import type { Scan } from '../scan/scan.js';
import { checkPlan } from './check.js';
import { Context, type Done } from './context.js';
import type { Plan, Step } from './plan.js';
import type { Results, RunOptions, StepOutcome } from './results.js';
import { jobSheet } from './sheet.js';
import { kindOfStep } from './steps.js';

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

/**
 * Runs a plan on a scan: every step in order, each on what those before it gave. The same plan and scan give the same results.
 *
 * @throws PlanError (`plan-invalid`) as {@link checkPlan} does, before anything is measured
 * @throws FettleError of the step that fails, with its id in front of the message and the code it has without a plan;
 * `aborted` when the signal says so
 */
export function runPlan(plan: Plan, scan: Scan, options: RunOptions = {}): Results {
  checkPlan(plan);
  const context = new Context(scan, plan.scanner);
  const all: Done[] = [];
  for (const [index, step] of plan.steps.entries()) {
    if (options.signal?.aborted) throw new FettleError('aborted', `${scan.name}: stopped before step ${step.id}.`);
    options.onStep?.({ id: step.id, step: step.step, index, count: plan.steps.length });
    const done = runStep(step, context);
    context.add(done);
    all.push(done);
  }
  const outcomes = all.map(({ outcome }) => outcome);
  const sheet = jobSheet(plan, all, context);
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
    warnings: outcomes.flatMap(ofRowless),
    passed: sheet.every((row) => row.values.every((value) => value.verdict !== 'outside')),
  };
}

function runStep(step: Step, context: Context): Done {
  try {
    return kindOfStep(step).run(step, context);
  } catch (error) {
    throw inStep(step.id, error);
  }
}
