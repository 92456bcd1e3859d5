import { type Frame, scanFrame } from '../frame/frame.js';
import type { Context } from './context.js';
import type { Plan } from './plan.js';
import type { SheetRow, StepOutcome } from './results.js';
import { kindOfStep } from './steps.js';

/**
 * The job sheet: a row for every step that gives numbers, in plan order. Coordinates are in the latest frame made before the
 * step; those of steps before the first frame are in the first, so that a plan with a frame has none in scan axes.
 */
export function jobSheet(plan: Plan, outcomes: readonly StepOutcome[], context: Context): SheetRow[] {
  const first = outcomes.find((outcome) => outcome.kind === 'frame');
  let frame: Frame = first?.frame ?? scanFrame;
  let frameId = first?.id ?? 'scan';
  const rows: SheetRow[] = [];
  for (const [i, step] of plan.steps.entries()) {
    const outcome = outcomes[i];
    if (outcome.kind === 'frame') {
      frame = outcome.frame;
      frameId = outcome.id;
    }
    const row = kindOfStep(step).row?.(step, outcome, frame, context);
    if (row === undefined) continue;
    rows.push({
      balloon: rows.length + 1,
      id: step.id,
      step: step.step,
      frame: frameId,
      ...row,
      ...(step.note !== undefined && { note: step.note }),
    });
  }
  return rows;
}
