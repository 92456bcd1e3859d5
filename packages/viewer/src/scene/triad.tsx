import type { Vec3 } from '@fettle/geom';
import { vec3 } from '@fettle/geom';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { backOf, type Rig } from './rig.js';
import type { SceneView } from './scene-view.js';

const SIZE = 112;
/** From the middle to the tip of an arrow, and to its letter, pixels. */
const TIP = 30;
const LETTER = 43;
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
      of: 'axes of the scan',
    };
  const axis = (k: number): Vec3 => [matrix[4 * k]!, matrix[4 * k + 1]!, matrix[4 * k + 2]!];
  return { axes: [axis(0), axis(1), axis(2)], of: session.triedFrame.value ? 'datum frame tried' : (last?.id ?? '') };
}

interface AxisEnd {
  readonly name: string;
  readonly isPositive: boolean;
  readonly toEye: Vec3;
  readonly up: Vec3;
  /** Where its axis goes on the screen: of unit length where it lies in the picture. */
  readonly way: readonly [number, number];
  /** Nearer to the eye than its other end. */
  readonly isNear: boolean;
}

/** An axis whose end is nearer to the middle than this, as a share, is seen along itself: its letters go apart, pixels. */
const END_ON = 0.25;
const APART = 13;

/** Where the middle of a letter stands, from the middle of the triad, pixels. */
const letterAt = ({ way: [x, y], isNear }: AxisEnd): readonly [number, number] =>
  Math.hypot(x, y) < END_ON ? [isNear ? -APART : APART, isNear ? -APART : APART] : [LETTER * x, LETTER * y];

/** Both ends of each axis, the farthest first. */
function axisEnds(axes: readonly [Vec3, Vec3, Vec3], rig: Rig): AxisEnd[] {
  const back = backOf(rig);
  return axes
    .flatMap((axis, k) =>
      [1, -1].map((sign): AxisEnd => {
        const toEye = vec3.scale(axis, sign);
        return {
          name: `${sign < 0 ? '−' : ''}${NAMES[k]}`,
          isPositive: sign > 0,
          toEye,
          up: k === 2 ? axes[1] : axes[2],
          way: [vec3.dot(toEye, rig.right), -vec3.dot(toEye, rig.up)],
          isNear: vec3.dot(toEye, back) > 0,
        };
      }),
    )
    .sort((a, b) => vec3.dot(a.toEye, back) - vec3.dot(b.toEye, back));
}

/** How the axes lie, as arrows; the letter at each end is a button that looks from there. */
export function Triad({ session, view }: { readonly session: Session; readonly view: SceneView }): JSX.Element {
  const { axes, of } = viewAxes(session);
  const ends = axisEnds(axes, view.rig.value);
  const middle = SIZE / 2;
  return (
    <fieldset class="triad">
      <legend>{of}</legend>
      <svg viewBox={`0 0 ${SIZE} ${SIZE}`} width={SIZE} height={SIZE} aria-hidden="true">
        {ends.map(({ name, isPositive, way: [x, y] }) => (
          <path
            key={name}
            class={isPositive ? 'plus' : 'minus'}
            d={`M${middle},${middle}l${TIP * x},${TIP * y}${isPositive ? arrowHead(x, y) : ''}`}
          />
        ))}
      </svg>
      {ends.map((end) => (
        <button
          key={end.name}
          type="button"
          class={end.isPositive ? 'plus' : 'minus'}
          title={`Look from ${end.name}`}
          aria-label={`Look from ${end.name}`}
          ref={(element) => {
            const [x, y] = letterAt(end).map((v) => (middle + v).toFixed(1)) as [string, string];
            element?.style.setProperty('transform', `translate(${x}px, ${y}px)`);
          }}
          onClick={() => view.lookFrom(end.toEye, end.up)}
        >
          {end.name}
        </button>
      ))}
    </fieldset>
  );
}

/** Two strokes back from the tip, as on a drawing. */
function arrowHead(x: number, y: number): string {
  const size = Math.hypot(x, y);
  if (size < 0.2) return '';
  const [ux, uy] = [(7 * x) / size, (7 * y) / size];
  const [ax, ay] = [-ux - 0.4 * uy, -uy + 0.4 * ux];
  const [bx, by] = [-ux + 0.4 * uy, -uy - 0.4 * ux];
  return `m${ax},${ay}l${-ax},${-ay}l${bx},${by}`;
}
