import type { Uncertain } from '../construct/propagate.js';
import type { Frame } from '../frame/frame.js';
import type { Context, Done } from './context.js';
import type { Plan } from './plan.js';
import type { SheetRow } from './results.js';
import type { Row } from './row.js';

/**
 * The job sheet: a row for every step that gives numbers, in plan order. Coordinates are in the latest frame made before the
 * step; those of steps before the first frame are in the first, so that a plan with a frame has none in scan axes.
 */
export function jobSheet(plan: Plan, context: Context): SheetRow[] {
  const isFrame = (id: string) => context.done(id)?.outcome.kind === 'frame';
  let frame = plan.steps.find(({ id }) => isFrame(id))?.id ?? 'scan';
  const rows: SheetRow[] = [];
  for (const { id, step, note } of plan.steps) {
    const done = context.done(id);
    if (isFrame(id)) frame = id;
    if (done?.row === undefined) continue;
    const words = note === undefined ? {} : { note };
    rows.push({ balloon: rows.length + 1, id, step, frame, ...rowOf(done, context.frame(frame)), ...words });
  }
  return rows;
}

/** Rows found before, with the frame they are in: carrying uncertainty into a frame is most of the work of a row. */
const known = new WeakMap<Done, { readonly frame: Uncertain<Frame>; readonly row: Row }>();

function rowOf(done: Done, frame: Uncertain<Frame>): Row {
  const before = known.get(done);
  if (before?.frame === frame) return before.row;
  const row = done.row!(frame);
  // A size by hand also tells which later fits took it.
  if (done.outcome.kind !== 'by-hand') known.set(done, { frame, row });
  return row;
}
