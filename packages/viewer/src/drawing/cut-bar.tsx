import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import {
  type CutAxis,
  dropCut,
  frameInUse,
  keepCut,
  levelOf,
  moveCut,
  reach,
  startCut,
  startCutOn,
} from './cutting.js';
import { LiveNumber } from './live-number.js';

/** Where the section lies: its axis or plane, and how far along. */
export function CutBar({ session }: { readonly session: Session }): JSX.Element | null {
  const cutting = session.cutting.value;
  if (!cutting) return null;
  const { step, view } = cutting;
  const frame = frameInUse(session);
  const planes = session.run.value.steps.filter(({ feature }) => feature?.kind === 'plane');
  const [from, to] = reach(session, step);
  const level = levelOf(step);
  return (
    <div class="cut-bar">
      <label title="Square to which axis of the datum frame, or parallel to which plane">
        <span>cut</span>
        <select
          value={'axis' in step ? step.axis : `on ${step.plane}`}
          onChange={(event) => {
            const { value } = event.currentTarget;
            if (value.startsWith('on ')) startCutOn(session, value.slice(3));
            else startCut(session, value as CutAxis);
          }}
        >
          {(['x', 'y', 'z'] as const).map((axis) => (
            <option key={axis} value={axis}>
              square to {axis} of {frame.id ?? 'the scan'}
            </option>
          ))}
          {planes.map(({ id }) => (
            <option key={id} value={`on ${id}`}>
              parallel to {id}
            </option>
          ))}
        </select>
      </label>
      <label class="level" title="How far along, mm">
        <span>at</span>
        <input
          type="range"
          min={from}
          max={to}
          step={(to - from) / 1000 || 0.1}
          value={level}
          aria-label="Where the section lies, mm"
          onInput={(event) => moveCut(session, Math.round(Number(event.currentTarget.value) * 100) / 100)}
        />
        <LiveNumber
          name="Where the section lies, typed, mm"
          value={level}
          onNumber={(value) => moveCut(session, value)}
        />
        <span>mm</span>
      </label>
      <button
        type="button"
        class="main"
        disabled={view?.refusal !== undefined || !view?.section}
        title="Keep the section (Enter)"
        aria-keyshortcuts="Enter"
        onClick={() => void keepCut(session)}
      >
        Keep section
      </button>
      <button type="button" title="Let it go (Esc)" aria-keyshortcuts="Escape" onClick={() => dropCut(session)}>
        Drop
      </button>
      {view?.refusal && <p role="alert">{view.refusal.message}</p>}
    </div>
  );
}
