import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import { fitStretch, keepStretch, STRETCH_SHAPES, stretchingOf } from './stretching.js';

/** What fits the stretch picked, with its residual, before it is kept. */
export function StretchCard({ session }: { readonly session: Session }): JSX.Element | null {
  const stretching = stretchingOf(session);
  const now = stretching.value;
  if (!now) return null;
  const { view, shape } = now;
  const row = view?.row;
  return (
    <aside class="stretch-card" aria-label="What fits the stretch">
      <fieldset class="shapes" aria-label="Shape">
        {STRETCH_SHAPES.map((other) => (
          <button
            key={other}
            type="button"
            aria-pressed={other === shape}
            title={`Fit a ${other}`}
            onClick={() => void fitStretch(session, now.section, now.picked, other)}
          >
            {other}
          </button>
        ))}
      </fieldset>
      {view?.refusal && <p class="refusal">{view.refusal.message}</p>}
      {row && (
        <dl aria-live="polite">
          {row.values.map(({ name, value, unit, uncertainty }) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>
                {value.toFixed(3)} {uncertainty !== undefined && `± ${uncertainty.toFixed(3)} `}
                {unit}
              </dd>
            </div>
          ))}
          <div>
            <dt>rms, form</dt>
            <dd>
              {row.rms?.toFixed(3)}, {row.form?.toFixed(3)} mm
            </dd>
          </div>
          <div>
            <dt>used, rejected</dt>
            <dd>
              {row.used}, {row.rejected}
            </dd>
          </div>
        </dl>
      )}
      <footer>
        <button
          type="button"
          class="main"
          disabled={!row}
          title="Put it on the job sheet (Enter)"
          aria-keyshortcuts="Enter"
          onClick={() => void keepStretch(session)}
        >
          Keep
        </button>
        <button
          type="button"
          title="Let it go (Esc)"
          aria-keyshortcuts="Escape"
          onClick={() => {
            stretching.value = undefined;
          }}
        >
          Drop
        </button>
      </footer>
    </aside>
  );
}
