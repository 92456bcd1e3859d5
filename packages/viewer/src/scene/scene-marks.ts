import { residualRange } from '@fettle/io';
import type { Draft } from '../session/session.js';
import type { PointsView } from '../worker/protocol.js';
import { MARK, type Marks } from './surface.js';

/** The row selected last, with its points. */
export interface SelectedPoints {
  readonly id: string;
  readonly view: PointsView;
  /** Ends of the scale of its residuals, ± mm; absent where it has none. */
  readonly range?: number;
}

export function selectedPoints(id: string, view: PointsView): SelectedPoints {
  const { residuals } = view;
  return { id, view, ...(residuals?.length && { range: residualRange(Float64Array.from(residuals)) }) };
}

/** Which points of the scan are marked, later ones over earlier ones. A draft takes the place of what is selected. */
export function marksShown(
  selected: SelectedPoints | undefined,
  draft: Draft | undefined,
  preview: Uint32Array | undefined,
): readonly Marks[] {
  const marks: Marks[] = [];
  if (selected && !draft) {
    const { points, residuals, rejected } = selected.view;
    marks.push(residuals ? { points, mark: MARK.mapped, residuals } : { points, mark: MARK.selected });
    if (rejected) marks.push({ points: rejected, mark: MARK.rejected });
  }
  if (draft?.choice) marks.push({ points: draft.choice.points, mark: MARK.draft });
  const rejected = draft?.fit?.view?.rejected;
  if (rejected) marks.push({ points: rejected, mark: MARK.rejected });
  if (preview) marks.push({ points: preview, mark: MARK.preview });
  return marks;
}
