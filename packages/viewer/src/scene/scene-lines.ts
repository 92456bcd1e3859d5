import type { Session } from '../session/session.js';
import type { SectionView } from '../worker/protocol.js';
import type { CurveSet } from './curves.js';
import type { SceneColors } from './scene-colors.js';

/** Widths of lines, pixels. */
const THIN = 1.5;
const THICK = 2.5;

/**
 * The lines that show the session on the scan: features, distances, the section shown or moved, datum frames, and the
 * fit of a draft. Reads the session's signals.
 *
 * @param axis how long the axes of frames are drawn, mm
 */
export function linesShown(session: Session, { ink, accent, datum }: SceneColors, axis: number): CurveSet[] {
  const selected = session.selected.value;
  const cutting = session.cutting.value;
  const tried = session.triedFrame.value;
  const draft = session.draft.value;
  const section = session.section.value;
  const sets: CurveSet[] = [];
  for (const view of session.run.value.steps) {
    const isSelected = selected.includes(view.id);
    const look = { color: isSelected ? accent : ink, width: isSelected ? THICK : THIN };
    if (view.drawn) sets.push({ ...look, lines: view.drawn.lines, isOver: isSelected });
    if (view.between) sets.push({ ...look, lines: [Float32Array.from(view.between.flat())], isOver: true });
    if (view.section && !cutting && (isSelected || view.id === section)) sets.push(...cut(view.section, accent));
    if (view.matrix && !tried) sets.push(axes(view.matrix, datum, axis));
  }
  if (cutting?.view?.section) sets.push(...cut(cutting.view.section, accent));
  if (tried) sets.push(axes(tried, datum, axis));
  if (draft?.fit?.view?.drawn)
    sets.push({ lines: draft.fit.view.drawn.lines, color: accent, width: THICK, isOver: true });
  return sets.filter(({ lines }) => lines.length > 0);
}

/** Of a cloud a section is the points near the plane, and what lines they lie in. */
function cut({ polylines, cloud }: SectionView, color: CurveSet['color']): CurveSet[] {
  const look = { color, width: THICK, isOver: true };
  const [lines, closed] = [polylines.map(({ points }) => points), polylines.map((line) => line.closed)];
  return [{ ...look, lines, closed }, ...(cloud ? [{ ...look, lines: [cloud], isDotted: true as const }] : [])];
}

/** Arrows along the axes of a frame, from its origin. */
function axes(matrix: Float64Array, color: CurveSet['color'], length: number): CurveSet {
  const origin = [matrix[12]!, matrix[13]!, matrix[14]!];
  const at = (...[x, y, z]: readonly [number, number, number]): number[] =>
    origin.map((o, k) => o + length * (x * matrix[k]! + y * matrix[4 + k]! + z * matrix[8 + k]!));
  const head = 0.06;
  const arrow = (k: number): Float32Array[] => {
    const to = (along: number, aside: number): number[] => {
      const v: [number, number, number] = [0, 0, 0];
      v[k] = along;
      v[(k + 1) % 3] = aside;
      return at(...v);
    };
    return [
      Float32Array.from([...origin, ...to(1, 0)]),
      Float32Array.from([...to(1 - 2 * head, head), ...to(1, 0), ...to(1 - 2 * head, -head)]),
    ];
  };
  return { lines: [0, 1, 2].flatMap(arrow), color, width: THICK, isOver: true };
}
