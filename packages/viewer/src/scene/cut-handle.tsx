import { vec3 } from '@fettle/geom';
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import { moveCut } from '../drawing/cutting.js';
import { Sign } from '../paper/signs.js';
import type { Session } from '../session/session.js';
import { pixelOf } from './rig.js';
import type { SceneView } from './scene-view.js';

/** Of a normal's length, so much at least must be seen for the grip to go along it. */
const END_ON = 0.05;

/** A grip on the section being moved: dragging it along the plane's normal moves the plane. */
export function CutHandle({
  session,
  view,
}: {
  readonly session: Session;
  readonly view: SceneView;
}): JSX.Element | null {
  const drag = useRef<{ readonly x: number; readonly y: number; readonly at: number } | undefined>(undefined);
  const cutting = session.cutting.value;
  const section = cutting?.view?.section;
  const bounds = session.scan.value?.bounds;
  const rig = view.rig.value;
  if (!cutting || !section || !bounds) return null;
  const { step } = cutting;
  const middle = [0, 1, 2].map((k) => (bounds.min[k]! + bounds.max[k]!) / 2) as unknown as vec3.Vec3;
  const off = vec3.dot(vec3.subtract(middle, section.origin), section.normal);
  const [x, y] = pixelOf(rig, vec3.addScaled(middle, section.normal, -off));
  const lies = [vec3.dot(section.normal, rig.right), -vec3.dot(section.normal, rig.up)] as const;
  // Seen along its normal the plane has no way to go on the screen: up is on then.
  const [wx, wy] = Math.hypot(...lies) > END_ON ? lies : ([0, -1] as const);
  const upright = Math.atan2(wx, -wy);
  const now = 'axis' in step ? step.at : (step.offset ?? 0);
  return (
    <button
      type="button"
      class="cut-handle"
      title="Drag to move the section"
      aria-label="Move the section"
      ref={(element) => {
        const at = `translate(${Math.round(x)}px, ${Math.round(y)}px)`;
        element?.style.setProperty('transform', `${at} rotate(${upright.toFixed(2)}rad)`);
      }}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        drag.current = { x: event.clientX, y: event.clientY, at: now };
      }}
      onPointerMove={(event) => {
        const from = drag.current;
        if (!from) return;
        const [dx, dy] = [event.clientX - from.x, event.clientY - from.y];
        const along = (rig.scale * (dx * wx + dy * wy)) / (wx ** 2 + wy ** 2);
        moveCut(session, Math.round((from.at + along) * 100) / 100);
      }}
      onPointerUp={() => {
        drag.current = undefined;
      }}
      onKeyDown={(event) => {
        const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
        if (by === undefined) return;
        event.preventDefault();
        moveCut(session, Math.round((now + by * (event.shiftKey ? 10 : 1)) * 100) / 100);
      }}
    >
      <Sign name="both" />
    </button>
  );
}
