import type { Vec3 } from '@fettle/geom';
import { vec3 } from '@fettle/geom';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { backOf } from './rig.js';
import type { SceneView } from './scene-view.js';

const SIZE = 104;
const REACH = 34;
const NAMES = ['x', 'y', 'z'] as const;

/** The axes the views go along: of the frame being tried, else of the plan's last, else of the scan. */
export function viewAxes(session: Session): { readonly axes: readonly [Vec3, Vec3, Vec3]; readonly of: string } {
  const steps = session.run.value.steps;
  const last = steps.findLast(({ matrix }) => matrix !== undefined);
  const matrix = session.triedFrame.value ?? last?.matrix;
  if (!matrix)
    return {
      axes: [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
      of: 'scan',
    };
  const axis = (k: number): Vec3 => [matrix[4 * k]!, matrix[4 * k + 1]!, matrix[4 * k + 2]!];
  return { axes: [axis(0), axis(1), axis(2)], of: session.triedFrame.value ? 'tried' : (last?.id ?? 'scan') };
}

/** How the axes lie, each end a button that looks along it. */
export function Triad({ session, view }: { readonly session: Session; readonly view: SceneView }): JSX.Element {
  const { axes, of } = viewAxes(session);
  const rig = view.rig.value;
  const back = backOf(rig);
  const ends = axes
    .flatMap((axis, k) =>
      [1, -1].map((sign) => {
        const toEye = vec3.scale(axis, sign);
        return {
          name: `${sign < 0 ? '−' : ''}${NAMES[k]}`,
          isPositive: sign > 0,
          toEye,
          up: k === 2 ? axes[1]! : axes[2]!,
          x: SIZE / 2 + REACH * vec3.dot(toEye, rig.right),
          y: SIZE / 2 - REACH * vec3.dot(toEye, rig.up),
          depth: vec3.dot(toEye, back),
        };
      }),
    )
    .sort((a, b) => a.depth - b.depth);
  return (
    <fieldset class="triad">
      <legend>{of === 'scan' ? 'axes of the scan' : `datum frame ${of}`}</legend>
      <svg viewBox={`0 0 ${SIZE} ${SIZE}`} width={SIZE} height={SIZE} aria-hidden="true">
        {ends
          .filter(({ isPositive }) => isPositive)
          .map(({ name, x, y }) => (
            <line key={name} x1={SIZE / 2} y1={SIZE / 2} x2={x} y2={y} />
          ))}
      </svg>
      {ends.map(({ name, isPositive, toEye, up, x, y }) => (
        <button
          key={name}
          type="button"
          class={isPositive ? 'plus' : 'minus'}
          title={`Look from ${name}`}
          aria-label={`Look from ${name}`}
          ref={(element) => {
            element?.style.setProperty('transform', `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`);
          }}
          onClick={() => view.lookFrom(toEye, up)}
        >
          {name}
        </button>
      ))}
    </fieldset>
  );
}
