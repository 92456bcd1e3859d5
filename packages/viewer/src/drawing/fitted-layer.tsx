import type { Feature } from '@fettle/geom';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import type { DrawingAxes } from './drawing-axes.js';
import { onSheet } from './drawing-axes.js';
import { Lines } from './section-drawing.js';
import { type SheetRig, toPixels } from './sheet-rig.js';

/** What a fit is dimensioned with, as on a drawing. */
function dimension(feature: Feature): string {
  if (feature.kind === 'circle') return `⌀${(2 * feature.radius).toFixed(3)}`;
  return '';
}

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
            <text class="dimension" x={x + 41} y={y - 14}>
              {dimension(view.feature)}
            </text>
          </g>
        );
      })}
    </>
  );
}
