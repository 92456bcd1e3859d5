import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { LiveNumber } from './live-number.js';
import { keepProfile, profilingOf, sectionStepOf, setProfiling } from './profiling.js';

/** Whether, and how closely, the outline is told apart into lines and arcs. */
export function ProfileBar({ session, id }: { readonly session: Session; readonly id: string }): JSX.Element {
  const { isOn, tolerance, view, refusal, of } = profilingOf(session).value;
  const isKept = sectionStepOf(session, id)?.profile !== undefined;
  const lines = view?.pieces.filter(({ kind }) => kind === 'line').length ?? 0;
  const arcs = (view?.pieces.length ?? 0) - lines;
  const found = `${lines} ${lines === 1 ? 'line' : 'lines'}, ${arcs} ${arcs === 1 ? 'arc' : 'arcs'}`;
  return (
    <div class="profile-bar">
      <button
        type="button"
        aria-pressed={isOn}
        aria-keyshortcuts="q"
        title="Tell the outline apart into lines and arcs; a click then picks a whole piece (Q)"
        onClick={() => setProfiling(session, { isOn: !isOn })}
      >
        Profile
      </button>
      {isOn && (
        <span
          class="tolerance"
          title="Departures up to this much are no reason for another piece, mm. Empty: as the noise and the waves of the outline itself tell"
        >
          <span>within</span>
          <LiveNumber
            name="Tolerance of the profile, mm"
            value={tolerance}
            empty="its noise"
            onNumber={(value) => {
              if (value > 0) setProfiling(session, { tolerance: value });
            }}
            onEmpty={() => setProfiling(session, { tolerance: undefined })}
          />
          <span>mm</span>
        </span>
      )}
      {isOn && (
        <span role="status" class={refusal ? 'refusal' : undefined}>
          {refusal ?? (view ? found : of ? 'looking …' : '')}
        </span>
      )}
      {isOn && view && (
        <button
          type="button"
          aria-pressed={isKept}
          aria-keyshortcuts="Shift+Q"
          title="Radii, widths, depths and angles of the outline picked from, else of the longest, as a row (Shift + Q)"
          onClick={() => void keepProfile(session, id)}
        >
          On the job sheet
        </button>
      )}
    </div>
  );
}
