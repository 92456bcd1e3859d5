import { useComputed, useSignal, useSignalEffect } from '@preact/signals';
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import type { Session } from '../session/session.js';
import { BALLOON_RADIUS, balloonsOf, carryBalloons, type LaidBalloon, layBalloons } from './balloons.js';
import type { SceneView } from './scene-view.js';

/**
 * Balloons over the scan: pressing one selects its row. They go with their places while the view moves and are laid
 * anew when it rests.
 */
export function Balloons({ session, view }: { readonly session: Session; readonly view: SceneView }): JSX.Element {
  const before = useRef<readonly LaidBalloon[]>([]);
  const all = useComputed(() => balloonsOf(session.run.value));
  const laid = useComputed(() => {
    const rig = view.rig.value;
    if (!view.isMoving.value || before.current.length === 0) before.current = layBalloons(all.value, rig);
    return view.isMoving.value ? carryBalloons(before.current, rig) : before.current;
  });
  const hidden = useSignal<ReadonlySet<string>>(new Set());
  useSignalEffect(() => {
    const balloons = all.value;
    const rig = view.rig.value;
    if (view.isMoving.value) return;
    void Promise.all(balloons.map(({ at }) => view.hides(at))).then((found) => {
      if (view.rig.peek() === rig) hidden.value = new Set(balloons.flatMap(({ id }, i) => (found[i] ? [id] : [])));
    });
  });
  const selected = session.selected.value;
  const press = (id: string, isMore: boolean): void => {
    const rest = selected.filter((other) => other !== id);
    session.selected.value = isMore ? (selected.includes(id) ? rest : [...rest, id]) : [id];
  };
  return (
    <svg class="balloons" aria-hidden="true">
      {laid.value.map(({ id, number, anchor, center }) => {
        const [dx, dy] = [center[0] - anchor[0], center[1] - anchor[1]];
        const share = Math.max(0, 1 - BALLOON_RADIUS / (Math.hypot(dx, dy) || 1));
        return (
          <g
            key={id}
            class={`balloon${selected.includes(id) ? ' selected' : ''}${hidden.value.has(id) ? ' hidden' : ''}`}
            onPointerDown={(event: PointerEvent) => {
              event.stopPropagation();
              press(id, event.shiftKey || event.ctrlKey || event.metaKey);
            }}
          >
            <title>{id}</title>
            <line x1={anchor[0]} y1={anchor[1]} x2={anchor[0] + share * dx} y2={anchor[1] + share * dy} />
            <circle class="end" cx={anchor[0]} cy={anchor[1]} r={2.5} />
            <circle class="reach" cx={center[0]} cy={center[1]} r={BALLOON_RADIUS} />
            <circle class="ring" cx={center[0]} cy={center[1]} r={BALLOON_RADIUS} />
            <text x={center[0]} y={center[1]}>
              {number}
            </text>
          </g>
        );
      })}
    </svg>
  );
}
