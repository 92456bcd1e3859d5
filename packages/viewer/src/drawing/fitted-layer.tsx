import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { pathOf, sheetTransform } from './curve-layer.js';
import type { DrawingAxes } from './drawing-axes.js';
import { flat } from './drawn-section.js';
import { type FittedLabel, fitsOn, RING } from './fitted-labels.js';
import type { SheetRig } from './sheet-rig.js';

export interface FittedLayerProps {
  readonly session: Session;
  /** The section. */
  readonly id: string;
  readonly labels: readonly FittedLabel[];
  readonly axes: DrawingAxes;
  readonly rig: SheetRig;
}

/** What is fitted to the section and measured on it, with balloons and sizes. */
export function FittedLayer({ session, id, labels, axes, rig }: FittedLayerProps): JSX.Element {
  const selected = session.selected.value;
  return (
    <>
      {fitsOn(session, id).map((view) => (
        <g key={view.id} class={selected.includes(view.id) ? 'fitted selected' : 'fitted'}>
          {view.drawn && <Lines lines={view.drawn.lines} axes={axes} rig={rig} kind="fit" />}
        </g>
      ))}
      {labels.map(({ view, text, anchor, ring, between }) => (
        <g key={view.id} class={selected.includes(view.id) ? 'fitted selected' : 'fitted'}>
          {between && <path class="between" d={arrow(...between)} />}
          <line class="leader" x1={anchor[0]} y1={anchor[1]} x2={ring[0]} y2={ring[1]} />
          <circle class="ring" cx={ring[0]} cy={ring[1]} r={RING} />
          <text class="number" x={ring[0]} y={ring[1]}>
            {view.row!.balloon}
          </text>
          <text class="size" x={ring[0] + RING + 5} y={ring[1]}>
            {text}
          </text>
        </g>
      ))}
    </>
  );
}

/** A dimension line with a head at either end. */
function arrow([ax, ay]: readonly [number, number], [bx, by]: readonly [number, number]): string {
  const length = Math.hypot(bx - ax, by - ay) || 1;
  const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
  const head = (x: number, y: number, s: number): string =>
    `M${x + s * (8 * ux - 3 * uy)} ${y + s * (8 * uy + 3 * ux)}L${x} ${y}L${x + s * (8 * ux + 3 * uy)} ${y + s * (8 * uy - 3 * ux)}`;
  return `M${ax} ${ay}L${bx} ${by}${head(ax, ay, 1)}${head(bx, by, -1)}`;
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
