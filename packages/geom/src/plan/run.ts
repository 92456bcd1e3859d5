import type { Scan } from '../scan/scan.js';
import type { Plan } from './plan.js';
import type { Results, RunOptions } from './results.js';
import { planRunner } from './runner.js';

/**
 * Runs a plan on a scan: every step in order, each on what those before it gave. The same plan and scan give the same results.
 *
 * @throws PlanError (`plan-invalid`) as `checkPlan` does, before anything is measured
 * @throws FettleError of the step that fails, with its id in front of the message and the code it has without a plan;
 * `aborted` when the signal says so
 */
export function runPlan(plan: Plan, scan: Scan, options: RunOptions = {}): Results {
  const onRefusal = ({ error }: { readonly error: unknown }): never => {
    throw error;
  };
  return planRunner(scan).run(plan, { ...options, onRefusal }).results;
}
