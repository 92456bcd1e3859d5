import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type { PieceView, ProfileView } from '../worker/protocol.js';
import { pathOf, sheetTransform } from './curve-layer.js';
import { dimensionsOf } from './dimension-text.js';
import type { DrawingAxes } from './drawing-axes.js';
import { flat } from './drawn-section.js';
import type { LabelBox } from './fitted-labels.js';
import type { SheetRig } from './sheet-rig.js';

export interface ProfileLayerProps {
  readonly profile: ProfileView;
  readonly axes: DrawingAxes;
  readonly rig: SheetRig;
  /** The pointer or the keyboard is at it. */
  readonly near: PieceView | undefined;
  /** What else is written on the sheet. */
  readonly taken: readonly LabelBox[];
}

/** Lines and arcs of the profile, with a tick where one ends and the next begins, and dimensions. */
export function ProfileLayer({ profile, axes, rig, near, taken }: ProfileLayerProps): JSX.Element {
  const { pieces, corners } = profile;
  const paths = useMemo(
    () => pieces.map(({ line }) => pathOf({ closed: false, points: flat(axes, line) })),
    [pieces, axes],
  );
  const ends = useMemo(
    () => pieces.flatMap(({ start, isWhole }) => (isWhole ? [] : [flat(axes, start)])),
    [pieces, axes],
  );
  return (
    <g class="profile">
      <g transform={sheetTransform(rig)}>
        {pieces.map((piece, p) => (
          <path key={p} class={`piece ${piece.kind}${piece === near ? ' near' : ''}`} d={paths[p]} />
        ))}
        <path class="ends" d={ends.map(([x, y]) => `M${x} ${y}h0`).join('')} />
      </g>
      {dimensionsOf(pieces, corners, axes, rig, taken).map(({ text, x, y, from, to, turn }) => (
        <g key={`${text} ${x} ${y}`} class="dimension">
          {from && to && <path d={`M${to[0]} ${to[1]}L${from[0]} ${from[1]}`} />}
          <text
            x={x}
            y={y}
            {...(turn !== undefined && { transform: `rotate(${turn.toFixed(2)} ${x.toFixed(1)} ${y.toFixed(1)})` })}
          >
            {text}
          </text>
        </g>
      ))}
    </g>
  );
}
