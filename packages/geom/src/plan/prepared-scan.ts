import type { Scan } from '../scan/scan.js';
import type { StepOutcome } from './step/outcome.js';

/**
 * The scan as the steps before one have prepared it: what this step saw, and what the points of its region are numbers of.
 *
 * @param scan as it was given to the plan
 * @param before id of the step; absent: after all
 */
export function preparedScan(outcomes: readonly StepOutcome[], scan: Scan, before?: string): Scan {
  let now = scan;
  for (const outcome of outcomes) {
    if (outcome.id === before) break;
    if (outcome.kind === 'prepare') now = outcome.prepared.scan;
  }
  return now;
}
