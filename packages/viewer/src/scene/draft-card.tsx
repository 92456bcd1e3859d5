import type { SheetRow } from '@fettle/geom';
import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { type Drafting, SHAPES } from '../choosing/drafting.js';
import type { Session } from '../session/session.js';
import type { SceneView } from './scene-view.js';

export interface DraftCardProps {
  readonly session: Session;
  readonly drafting: Drafting;
  /** Where the last choice was made, pixels. */
  readonly at: Signal<readonly [number, number]>;
  readonly view: SceneView;
}

const WIDTH = 268;
const HEIGHT = 300;

const count = (n: number): string => n.toLocaleString('en-US');
const short = (value: number, digits = 3): string => value.toFixed(digits);

/** What was chosen and what fits it, beside the pointer. */
export function DraftCard({ session, drafting, at, view }: DraftCardProps): JSX.Element | null {
  const draft = session.draft.value;
  if (!draft) return null;
  const { width, height } = view.rig.value;
  const [x, y] = at.value;
  const left = x + 24 + WIDTH < width ? x + 24 : Math.max(8, x - 24 - WIDTH);
  const top = Math.max(8, Math.min(y - 40, height - HEIGHT - 8));
  const { choice, suggested, fit, refusal } = draft;
  const row = fit?.view?.row;
  const chosen = drafting.shape.value ?? suggested?.suggestion.kind;
  return (
    <aside
      class="draft-card"
      aria-label="What was chosen"
      ref={(element) => {
        element?.style.setProperty('transform', `translate(${Math.round(left)}px, ${Math.round(top)}px)`);
      }}
    >
      <header aria-live="polite">
        <strong>{row ? row.what.split(' to ')[0] : chosen ? chosen : 'choosing …'}</strong>
        {choice && (
          <span>
            {count(choice.count)} points{choice.area !== undefined && `, ${count(Math.round(choice.area))} mm²`}, turns{' '}
            {((choice.spread * 180) / Math.PI).toFixed(1)}°
          </span>
        )}
      </header>
      <fieldset class="shapes" aria-label="Shape">
        {SHAPES.map((shape, k) => (
          <button
            key={shape}
            type="button"
            aria-pressed={chosen === shape}
            aria-keyshortcuts={String(k + 1)}
            title={`${shape}${suggested?.suggestion.kind === shape ? `, suggested: ${suggested.suggestion.reason}` : ''} (${k + 1})`}
            onClick={() => {
              drafting.shape.value = shape;
            }}
          >
            {shape}
          </button>
        ))}
      </fieldset>
      {refusal ? <p class="refusal">{refusal.message}</p> : row ? <Values row={row} /> : <p class="busy">fitting …</p>}
      {suggested && !refusal && drafting.shape.value === undefined && (
        <p class="reason">{suggested.suggestion.reason}</p>
      )}
      {(chosen === 'circle' || chosen === 'cylinder' || chosen === 'sphere') && (
        <label class="known" title="The diameter a caliper gives: taken as it stands, the scan gives the place">
          <span>diameter by hand, mm</span>
          <input
            type="number"
            min="0"
            step="any"
            value={drafting.diameter.value ?? ''}
            onChange={(event) => {
              const value = Number(event.currentTarget.value);
              drafting.diameter.value = value > 0 ? value : undefined;
            }}
          />
        </label>
      )}
      <label class="tick" title="Leave out points farther off than 3.5 sigmas">
        <input
          type="checkbox"
          checked={drafting.rejects.value}
          onInput={(event) => {
            drafting.rejects.value = event.currentTarget.checked;
          }}
        />
        <span>leave strays out</span>
      </label>
      <footer>
        <button
          type="button"
          class="main"
          disabled={!row || refusal !== undefined}
          title="Put it on the job sheet (Enter)"
          aria-keyshortcuts="Enter"
          onClick={() => void drafting.keep()}
        >
          Keep
        </button>
        <button type="button" title="Keep the points alone, without a fit" onClick={() => void drafting.keepRegion()}>
          Points only
        </button>
        <button type="button" title="Let it go (Esc)" aria-keyshortcuts="Escape" onClick={drafting.drop}>
          Drop
        </button>
      </footer>
      <p class="hint">Shift adds another patch, alt takes away.</p>
    </aside>
  );
}

function Values({ row }: { readonly row: SheetRow }): JSX.Element {
  const told = row.values.filter(({ name }) => !/^(x|y|z|angle-|offset)/.test(name));
  return (
    <>
      <dl>
        {told.map(({ name, value, unit, uncertainty, given }) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>
              {short(value)} {given ? 'given' : uncertainty === undefined ? '' : `± ${short(uncertainty)}`} {unit}
            </dd>
          </div>
        ))}
        {row.rms !== undefined && (
          <div>
            <dt>rms, form</dt>
            <dd>
              {short(row.rms)}, {row.form === undefined ? '–' : short(row.form)} mm
            </dd>
          </div>
        )}
        <div>
          <dt>used, rejected</dt>
          <dd>
            {count(row.used ?? 0)}, {count(row.rejected ?? 0)}
          </dd>
        </div>
      </dl>
      {row.uncertainty && <p class="trust">{row.uncertainty}</p>}
      {row.warnings.map(({ code, message }) => (
        <p key={code} class="warning">
          {message}
        </p>
      ))}
    </>
  );
}
