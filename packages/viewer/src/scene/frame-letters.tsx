import type { Vec3 } from '@fettle/geom';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { pixelOf } from './rig.js';
import type { SceneView } from './scene-view.js';

/** How far beyond the tip of its arrow a letter stands, as a share of the arrow. */
const BEYOND = 1.1;
const NAMES = ['x', 'y', 'z'] as const;

/** The letters at the arrows of the datum frame that is tried, else of those in the plan. */
export function FrameLetters({ session, view }: { readonly session: Session; readonly view: SceneView }): JSX.Element {
  const tried = session.triedFrame.value;
  const frames = tried
    ? [{ id: 'tried', matrix: tried }]
    : session.run.value.steps.flatMap(({ id, matrix }) => (matrix ? [{ id, matrix }] : []));
  const rig = view.rig.value;
  const at = (m: Float64Array, axis: number): readonly [number, number] =>
    pixelOf(rig, [0, 1, 2].map((k) => m[12 + k]! + BEYOND * view.axisLength * m[4 * axis + k]!) as unknown as Vec3);
  return (
    <svg class="frame-letters" aria-hidden="true">
      {frames.flatMap(({ id, matrix }) =>
        NAMES.map((name, axis) => {
          const [x, y] = at(matrix, axis);
          return (
            <text key={`${id} ${name}`} x={x} y={y}>
              {name}
            </text>
          );
        }),
      )}
    </svg>
  );
}
