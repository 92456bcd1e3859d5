import type { Scan } from '../scan/scan.js';
import type { Plan } from './plan.js';
import type { Results, RunOptions } from './results.js';
import { type PlanRun, planRunner } from './runner.js';
import type { StepOutcome } from './step/outcome.js';

/**
 * Runs a plan on a scan: every step in order, each on what those before it gave. What does not rest on a step that fails is measured all
 * the same; `failed` of the results says what failed and what waits for it, and `passed` is then false. The same plan and scan
 * give the same results.
 *
 * @throws PlanError (`plan-invalid`) as `checkPlan` does, before anything is measured
 * @throws FettleError of the step that fails, with its id in front of the message and the code it has without a plan: where nothing
 * could be measured, or with `stopAtFault`; `aborted` when the signal says so
 */
export function runPlan(plan: Plan, scan: Scan, options: RunOptions = {}): Results {
  const run = planRunner(scan).run(plan, options);
  demandMeasured(run);
  return run.results;
}

/** What comes before measuring, and after it. */
const BESIDE: readonly StepOutcome['kind'][] = ['prepare', 'region', 'deliver'];

/** @throws the error of the step for which nothing could be measured */
export function demandMeasured({ results: { outcomes }, refusals }: PlanRun): void {
  const [gravest = refusals[0]] = refusals.filter(({ leftOut }) => !leftOut);
  if (gravest !== undefined && outcomes.every(({ kind }) => BESIDE.includes(kind))) throw gravest.error;
}
