import type { SheetRow, SheetValue } from '@fettle/geom';
import type { JSX } from 'preact';
import { FoldedWarning } from '../paper/folded-warning.js';
import { valueWords } from '../paper/sheet-value.js';
import type { Session } from '../session/session.js';
import type { Relation } from '../worker/protocol.js';
import {
  changeShape,
  chooseRelation,
  dropStretch,
  keepStretch,
  STRETCH_SHAPES,
  type Stretch,
  type Stretching,
  stepsKept,
  trialOf,
} from './stretching.js';

export interface StretchCardProps {
  readonly session: Session;
  readonly now: Stretching;
  /** Where the pick was, and the size of the sheet, pixels. */
  readonly at: readonly [number, number];
  readonly within: readonly [number, number];
}

/** From the pick to the card, and from the card to the edges of the sheet, pixels. */
const ASIDE = 26;
const EDGE = 8;

/** What fits what was picked, with its residual, beside the pick. */
export function StretchCard({ session, now, at, within }: StretchCardProps): JSX.Element {
  const { stretches, relations, chosen } = now;
  const last = stretches.at(-1)!;
  const view = trialOf(last)?.view;
  const row = view?.row;
  const names = stretches.map((stretch) => trialOf(stretch)?.step.id ?? stretch.shape);
  return (
    <aside
      class="stretch-card"
      aria-label="What fits the stretch"
      ref={(element) => {
        if (element) layBeside(element, at, within);
      }}
    >
      <h3>{names.join(' and ')}</h3>
      <Shapes session={session} stretch={last} />
      {view?.refusal && <p class="refusal">{view.refusal.message}</p>}
      {!view && <p>fitting …</p>}
      {row && stretches.length === 1 && <Values row={row} />}
      {row && stretches.length === 2 && (
        <Relations relations={relations} chosen={chosen} onChoose={(relation) => chooseRelation(session, relation)} />
      )}
      <footer>
        <button
          type="button"
          class="main"
          disabled={stepsKept(now).length === 0}
          title="Put it on the job sheet (Enter)"
          aria-keyshortcuts="Enter"
          onClick={() => void keepStretch(session)}
        >
          Keep
        </button>
        <button type="button" title="Let it go (Esc)" aria-keyshortcuts="Escape" onClick={() => dropStretch(session)}>
          Drop
        </button>
      </footer>
      {stretches.length === 1 && <p class="hint">Shift and click another piece to measure between the two.</p>}
    </aside>
  );
}

/** A button for each shape, with the residual of those tried. */
const Shapes = ({ session, stretch }: { readonly session: Session; readonly stretch: Stretch }): JSX.Element => (
  <fieldset class="shapes" aria-label="Shape">
    {STRETCH_SHAPES.map((shape) => {
      const rms = stretch.trials[shape]?.view?.row?.rms;
      return (
        <button
          key={shape}
          type="button"
          aria-pressed={shape === stretch.shape}
          title={`Fit a ${shape} (C: the next shape)${rms === undefined ? '' : `. Its rms is ${rms.toFixed(3)} mm`}`}
          onClick={() => void changeShape(session, shape)}
        >
          {shape}
          <small>{rms === undefined ? ' ' : rms.toFixed(3)}</small>
        </button>
      );
    })}
  </fieldset>
);

const isPlace = ({ name }: SheetValue): boolean => /^(x|y|z|offset)$/.test(name);
const isTilt = ({ name }: SheetValue): boolean => name.startsWith('angle-');

/** Sizes, not places: those are for the job sheet. Of what has no size, how it lies. */
function valuesShown({ values }: SheetRow): readonly SheetValue[] {
  const own = values.filter((value) => !isPlace(value));
  const sizes = own.filter((value) => !isTilt(value));
  return sizes.length > 0 ? sizes : own;
}

function Values({ row }: { readonly row: SheetRow }): JSX.Element {
  const { rms, form, used, rejected, warnings } = row;
  return (
    <>
      <dl aria-live="polite">
        {valuesShown(row).map((value) => (
          <div key={value.name}>
            <dt>{value.name.replaceAll('-', ' ')}</dt>
            <dd>{valueWords(value)}</dd>
          </div>
        ))}
        <div>
          <dt>rms, form</dt>
          <dd>
            {rms?.toFixed(3)}, {form?.toFixed(3)} mm
          </dd>
        </div>
        <div>
          <dt>used, rejected</dt>
          <dd>
            {used}, {rejected}
          </dd>
        </div>
      </dl>
      {warnings.map(({ code, message }) => (
        <FoldedWarning key={code} message={message} />
      ))}
    </>
  );
}

interface RelationsProps {
  readonly relations: readonly Relation[] | undefined;
  readonly chosen: number | undefined;
  onChoose(relation: number | undefined): void;
}

/** What can be measured between two stretches, one of which is kept with them. */
function Relations({ relations, chosen, onChoose }: RelationsProps): JSX.Element {
  if (!relations) return <p>measuring …</p>;
  return (
    <fieldset class="relations">
      <legend>Between them</legend>
      {relations.map(({ step, view }, r) => {
        const value = view.row?.values[0];
        if (!value) return null;
        return (
          <label key={step.id} title={view.row?.what}>
            <input type="radio" name="between" checked={chosen === r} onChange={() => onChoose(r)} />
            <span>{value.name}</span>
            <span class="amount">{valueWords(value)}</span>
          </label>
        );
      })}
      <label title="Keep the two fits alone">
        <input type="radio" name="between" checked={chosen === undefined} onChange={() => onChoose(undefined)} />
        <span>nothing</span>
      </label>
    </fieldset>
  );
}

/** Puts the card beside the pick, to the left where there is no room on the right, all of it on the sheet. */
function layBeside(
  element: HTMLElement,
  [x, y]: readonly [number, number],
  [width, height]: readonly [number, number],
): void {
  const { offsetWidth: wide, offsetHeight: high } = element;
  const fits = x + ASIDE + wide + EDGE < width;
  const left = Math.max(EDGE, Math.min(fits ? x + ASIDE : x - ASIDE - wide, width - wide - EDGE));
  const top = Math.max(EDGE, Math.min(y - high / 2, height - high - EDGE));
  element.style.setProperty('transform', `translate(${Math.round(left)}px, ${Math.round(top)}px)`);
}
