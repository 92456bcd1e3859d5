import type { Uncertain } from '../construct/propagate.js';
import type { Warning } from '../error.js';
import type { Frame } from '../math/frame.js';
import type { Plan } from './plan.js';
import type { SheetRow } from './results.js';
import type { Context, Done } from './step/context.js';
import type { Row } from './step/row.js';

/**
 * The job sheet: a row for every step that gives numbers, in plan order. Coordinates are in the latest frame before the step; those of
 * steps before the first frame are in the first, so that a plan with a frame has none in scan axes. Where that frame gave
 * nothing, the row has no coordinates: in other axes they would be taken for what they are not.
 */
export function jobSheet(plan: Plan, context: Context): SheetRow[] {
  let frame = plan.steps.find(({ step }) => step === 'frame')?.id ?? 'scan';
  const rows: SheetRow[] = [];
  for (const { id, step, note } of plan.steps) {
    const done = context.done(id);
    if (step === 'frame') frame = id;
    if (done?.row === undefined) continue;
    const words = note === undefined ? {} : { note };
    const isThere = frame === 'scan' || context.done(frame) !== undefined;
    const row = isThere ? rowOf(done, context.frame(frame)) : withoutFrame(rowOf(done, undefined), done, frame);
    rows.push({ balloon: rows.length + 1, id, step, frame, ...row, ...words });
  }
  return rows;
}

/** Rows found before, with the frame they are in: carrying uncertainty into a frame is most of the work of a row. */
const known = new WeakMap<Done, { readonly frame: Uncertain<Frame> | undefined; readonly row: Row }>();

function rowOf(done: Done, frame: Uncertain<Frame> | undefined): Row {
  const before = known.get(done);
  if (before && before.frame === frame) return before.row;
  const row = done.row!(frame);
  // A size by hand also tells which later fits took it.
  if (done.outcome.kind !== 'by-hand') known.set(done, { frame, row });
  return row;
}

function withoutFrame(row: Row, { outcome: { kind } }: Done, frame: string): Row {
  if (kind !== 'fit' && kind !== 'construct') return row;
  const missing: Warning = {
    code: 'frame-missing',
    message: `Its place and angles wait for the frame "${frame}", which gave nothing; limits on them are not judged.`,
  };
  return { ...row, warnings: [...row.warnings, missing] };
}
