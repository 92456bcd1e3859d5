import type { JSX } from 'preact';
import { barLength, type SheetRig, toPixels } from './sheet-rig.js';

export interface AxesProps {
  readonly rig: SheetRig;
  readonly names: readonly [right: string, up: string];
}

/** The frame's axes through its origin where it lies in the picture, and their names at the sheet's corner. */
export function Axes({ rig, names }: AxesProps): JSX.Element {
  const [x, y] = toPixels(rig, [0, 0]);
  const { width, height } = rig;
  return (
    <g class="axes">
      {x > 0 && x < width && <line x1={x} y1={0} x2={x} y2={height} />}
      {y > 0 && y < height && <line x1={0} y1={y} x2={width} y2={y} />}
      <path d="M18 66V24m-4 8 4-8 4 8M18 66H60m-8-4 8 4-8 4" />
      <text x={68} y={66}>
        {names[0]}
      </text>
      <text x={18} y={15}>
        {names[1]}
      </text>
    </g>
  );
}

export function ScaleBar({ rig }: { readonly rig: SheetRig }): JSX.Element {
  const length = barLength(rig.scale);
  const pixels = length / rig.scale;
  const [x, y] = [rig.width - pixels - 18, rig.height - 16];
  return (
    <g class="scale-bar">
      <path d={`M${x} ${y - 5}v10M${x + pixels} ${y - 5}v10M${x} ${y}h${pixels}`} />
      <text x={x + pixels / 2} y={y - 8}>
        {length} mm
      </text>
    </g>
  );
}
