import type { Context, Done } from './context.js';
import type { Plan } from './plan.js';
import type { SheetRow } from './results.js';

/**
 * The job sheet: a row for every step that gives numbers, in plan order. Coordinates are in the latest frame made before the
 * step; those of steps before the first frame are in the first, so that a plan with a frame has none in scan axes.
 */
export function jobSheet(plan: Plan, done: readonly Done[], context: Context): SheetRow[] {
  let frame = done.find(({ outcome }) => outcome.kind === 'frame')?.outcome.id ?? 'scan';
  const rows: SheetRow[] = [];
  for (const [i, { id, step, note }] of plan.steps.entries()) {
    const { outcome, row } = done[i];
    if (outcome.kind === 'frame') frame = id;
    if (row === undefined) continue;
    const words = note === undefined ? {} : { note };
    rows.push({ balloon: rows.length + 1, id, step, frame, ...row(context.frame(frame)), ...words });
  }
  return rows;
}
