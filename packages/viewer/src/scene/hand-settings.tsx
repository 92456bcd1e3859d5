import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Drafting, Joining } from '../choosing/drafting.js';
import type { Session } from '../session/session.js';
import type { SceneView } from './scene-view.js';

export interface HandSettingsProps {
  readonly session: Session;
  readonly drafting: Drafting;
  readonly view: SceneView;
  /** Radius of the brush, pixels. */
  readonly brush: Signal<number>;
  /** Boxes and outlines choose all the way through. */
  readonly through: Signal<boolean>;
}

const numberOf = (event: Event): number => Number((event.currentTarget as HTMLInputElement).value);

/** What the hand in use can be set to, and how the scan is shown. */
export function HandSettings({ session, drafting, view, brush, through }: HandSettingsProps): JSX.Element {
  const hand = session.hand.value;
  const { turn, spread } = session.grow.value;
  const isCut = session.cutting.value !== undefined || session.section.value !== undefined;
  return (
    <div class="hand-settings">
      {hand !== 'turn' && <JoiningChoice joining={drafting.joining} />}
      {hand === 'grow' && (
        <>
          <label title="How far the surface may turn from one point to the next. Alt and the wheel change both angles.">
            <span>from point to point {turn}°</span>
            <input
              type="range"
              min={0.5}
              max={15}
              step={0.5}
              value={turn}
              onInput={(event) => {
                session.grow.value = { ...session.grow.peek(), turn: numberOf(event) };
              }}
            />
          </label>
          <label title="How far the surface may turn from the place pointed at, in all">
            <span>in all {spread}°</span>
            <input
              type="range"
              min={1}
              max={90}
              step={1}
              value={spread}
              onInput={(event) => {
                session.grow.value = { ...session.grow.peek(), spread: numberOf(event) };
              }}
            />
          </label>
        </>
      )}
      {hand === 'brush' && (
        <label title="Radius of the brush">
          <span>brush {(brush.value * view.rig.value.scale).toPrecision(2)} mm</span>
          <input
            type="range"
            min={4}
            max={60}
            step={1}
            value={brush.value}
            onInput={(event) => {
              brush.value = numberOf(event);
            }}
          />
        </label>
      )}
      {(hand === 'brush' || hand === 'box' || hand === 'outline') && (
        <label class="tick" title="Choose points that cannot be seen from here as well">
          <input
            type="checkbox"
            checked={through.value}
            onInput={(event) => {
              through.value = event.currentTarget.checked;
            }}
          />
          <span>all the way through</span>
        </label>
      )}
      {isCut && (
        <label class="tick" title="Hide what lies in front of the section">
          <input
            type="checkbox"
            checked={view.isClipping.value}
            onInput={(event) => {
              view.isClipping.value = event.currentTarget.checked;
            }}
          />
          <span>cut away</span>
        </label>
      )}
      {view.isPaintable.value && (
        <label class="tick" title="Show the colors the scanner saw">
          <input
            type="checkbox"
            checked={view.painted.value}
            onInput={(event) => {
              view.painted.value = event.currentTarget.checked;
            }}
          />
          <span>scan colors</span>
        </label>
      )}
    </div>
  );
}

const ways: readonly { readonly way: Joining; readonly name: string; readonly hint: string }[] = [
  { way: 'new', name: 'new', hint: 'Each choice begins anew' },
  { way: 'add', name: 'add', hint: 'Each choice is added to the last, as with shift' },
  { way: 'take', name: 'take away', hint: 'Each choice is taken away from the last, as with alt' },
];

/** What shift and alt do, for hands without keys. */
const JoiningChoice = ({ joining }: { readonly joining: Signal<Joining> }): JSX.Element => (
  <fieldset class="joining" aria-label="What the next choice does">
    {ways.map(({ way, name, hint }) => (
      <button
        key={way}
        type="button"
        aria-pressed={joining.value === way}
        title={hint}
        onClick={() => {
          joining.value = way;
        }}
      >
        {name}
      </button>
    ))}
  </fieldset>
);
