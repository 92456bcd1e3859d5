import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { pathOf, sheetTransform } from './curve-layer.js';
import { sizeOf } from './dimension-text.js';
import { type DrawingAxes, onSheet } from './drawing-axes.js';
import { flat } from './drawn-section.js';
import { type SheetRig, toPixels } from './sheet-rig.js';

export interface FittedLayerProps {
  readonly session: Session;
  /** The section. */
  readonly id: string;
  readonly axes: DrawingAxes;
  readonly rig: SheetRig;
}

/** Lines and circles fitted to the section, with their balloons and dimensions. */
export function FittedLayer({ session, id, axes, rig }: FittedLayerProps): JSX.Element {
  const on = new Set(
    session.plan.value.steps.flatMap((step) => (step.step === 'fit' && step.to === id ? [step.id] : [])),
  );
  const selected = session.selected.value;
  return (
    <>
      {session.run.value.steps.map((view) => {
        if (!on.has(view.id) || !view.drawn || !view.feature || !view.row) return null;
        const [x, y] = toPixels(rig, onSheet(axes, view.drawn.anchor));
        const isSelected = selected.includes(view.id);
        return (
          <g key={view.id} class={isSelected ? 'fitted selected' : 'fitted'}>
            <Lines lines={view.drawn.lines} axes={axes} rig={rig} kind="fit" />
            <circle class="ring" cx={x + 26} cy={y - 18} r={10} />
            <text class="number" x={x + 26} y={y - 18}>
              {view.row.balloon}
            </text>
            <text class="size" x={x + 41} y={y - 14}>
              {sizeOf(view.feature)}
            </text>
          </g>
        );
      })}
    </>
  );
}

/** Lines given in space, laid on the sheet. */
export function Lines(props: {
  readonly lines: readonly Float32Array[];
  readonly axes: DrawingAxes;
  readonly rig: SheetRig;
  readonly kind: string;
}): JSX.Element {
  const { lines, axes, rig, kind } = props;
  return (
    <g transform={sheetTransform(rig)}>
      {lines.map((line, l) => (
        <path key={l} class={kind} d={pathOf({ closed: false, points: flat(axes, line) })} />
      ))}
    </g>
  );
}
