import type { ShapeSuggestion, SheetRow } from '@fettle/geom';
import { counted, countText } from '@fettle/io';
import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { type Drafting, SHAPES } from '../choosing/drafting.js';
import { FoldedWarning } from '../paper/folded-warning.js';
import { valueWords } from '../paper/sheet-value.js';
import type { Session } from '../session/session.js';
import type { ChoiceView } from '../worker/protocol.js';
import { DraftKnownFields } from './draft-known.js';
import type { SceneView } from './scene-view.js';

export interface DraftCardProps {
  readonly session: Session;
  readonly drafting: Drafting;
  /** Where the last choice was made, pixels. */
  readonly at: Signal<readonly [number, number]>;
  readonly view: SceneView;
}

/** From the pointer to the card, and from the card to the edges of the scene, pixels. */
const ASIDE = 28;
const EDGE = 8;

/** Letters of a name and its value that fit half the card's width. */
const HALF = 14;

/** What was chosen and what fits it, beside the pointer. */
export function DraftCard({ session, drafting, at, view }: DraftCardProps): JSX.Element | null {
  const draft = session.draft.value;
  if (!draft) return null;
  const { width, height } = view.rig.value;
  const [x, y] = at.value;
  const { choice, suggested, fit, refusal } = draft;
  const row = fit?.view?.row;
  const suggestion = suggested?.suggestion;
  const chosen = drafting.shape.value ?? suggestion?.kind;
  return (
    <aside
      class="draft-card"
      aria-label="What was chosen"
      ref={(element) => {
        if (element) layBeside(element, [x, y], [width, height]);
      }}
    >
      <header aria-live="polite">
        <strong>{chosen ?? 'choosing …'}</strong>
        {choice && <span>{extentInWords(choice)}</span>}
      </header>
      <Shapes drafting={drafting} chosen={chosen} suggestion={suggestion} />
      {refusal ? <p class="refusal">{refusal.message}</p> : row ? <Values row={row} /> : <p class="busy">fitting …</p>}
      {suggestion && !refusal && drafting.shape.value === undefined && (
        <p class="reason" title={suggestion.reason}>
          {suggestion.reason}
        </p>
      )}
      <DraftKnownFields session={session} drafting={drafting} chosen={chosen} />
      <label class="tick" title="Leave out points farther off than 3.5 sigmas (Y)">
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
        <button
          type="button"
          title="Keep the points alone, without a fit (Shift + Enter)"
          aria-keyshortcuts="Shift+Enter"
          onClick={() => void drafting.keepRegion()}
        >
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

/** Puts the card to the right of what was chosen, or to the left where there is more room, all of it in the scene. */
function layBeside(
  element: HTMLElement,
  [x, y]: readonly [number, number],
  [width, height]: readonly [number, number],
): void {
  const { offsetWidth: wide, offsetHeight: high } = element;
  // At the right edge it covers less of what was chosen than to the left of the pointer.
  const right = Math.min(x + ASIDE, width - EDGE - wide);
  const left = right > x + EDGE ? right : Math.max(EDGE, Math.min(x - ASIDE, width - EDGE) - wide);
  const top = Math.max(EDGE, Math.min(y - 40, height - high - EDGE));
  element.style.setProperty('transform', `translate(${Math.round(left)}px, ${Math.round(top)}px)`);
}

const extentInWords = ({ count: points, area, spread }: ChoiceView): string =>
  [
    counted(points, 'point'),
    ...(area === undefined ? [] : [`${countText(Math.round(area))} mm²`]),
    `turns ${((spread * 180) / Math.PI).toFixed(1)}°`,
  ].join(' · ');

interface ShapesProps {
  readonly drafting: Drafting;
  readonly chosen: string | undefined;
  readonly suggestion: ShapeSuggestion | undefined;
}

/** A button and a key for each shape. */
const Shapes = ({ drafting, chosen, suggestion }: ShapesProps): JSX.Element => (
  <fieldset class="shapes" aria-label="Shape">
    {SHAPES.map((shape, k) => (
      <button
        key={shape}
        type="button"
        aria-pressed={chosen === shape}
        aria-keyshortcuts={String(k + 1)}
        title={`Fit a ${shape} (${k + 1})${suggestion?.kind === shape ? `. Suggested: ${suggestion.reason}` : ''}`}
        onClick={() => {
          drafting.shape.value = shape;
        }}
      >
        {shape}
      </button>
    ))}
  </fieldset>
);

/** Sizes, not places: those are for the job sheet. */
const isPlace = (name: string): boolean => /^(x|y|z|angle-|offset)/.test(name);

function Values({ row }: { readonly row: SheetRow }): JSX.Element {
  const { values, rms, form, used = 0, rejected = 0, uncertainty, warnings } = row;
  const lines: (readonly [string, string])[] = values
    .filter(({ name }) => !isPlace(name))
    .map((value) => [value.name.replaceAll('-', ' '), valueWords(value)]);
  if (rms !== undefined) lines.push(['rms', `${rms.toFixed(3)} mm`]);
  if (form !== undefined) lines.push(['form', `${form.toFixed(3)} mm`]);
  lines.push(['used', countText(used)]);
  return (
    <>
      <dl>
        {lines.map(([name, value]) => (
          <div key={name} class={name.length + value.length > HALF ? 'long' : undefined}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
        <div class={rejected > 0 ? 'rejected' : undefined}>
          <dt>rejected</dt>
          <dd>{countText(rejected)}</dd>
        </div>
      </dl>
      {uncertainty && <p class="trust">{uncertainty}</p>}
      {warnings.map(({ code, message }) => (
        <FoldedWarning key={code} message={message} />
      ))}
    </>
  );
}
