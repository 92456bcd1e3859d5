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

interface SliderProps {
  readonly hint: string;
  /** What it is set to, in words. */
  readonly says: string;
  readonly range: readonly [least: number, most: number, step: number];
  readonly value: number;
  onSet(value: number): void;
}

function Slider({ hint, says, range: [min, max, step], value, onSet }: SliderProps): JSX.Element {
  return (
    <label title={hint}>
      <span>{says}</span>
      <input
        type="range"
        min={min}
        max={max}
        step={step}
        value={value}
        onInput={(event) => onSet(Number(event.currentTarget.value))}
      />
    </label>
  );
}

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
          <Slider
            hint="How far the surface may turn from one point to the next. Alt and the wheel change both angles."
            says={`from point to point ${turn}°`}
            range={[0.5, 15, 0.5]}
            value={turn}
            onSet={(to) => {
              session.grow.value = { ...session.grow.peek(), turn: to };
            }}
          />
          <Slider
            hint="How far the surface may turn from the place pointed at, in all"
            says={`in all ${spread}°`}
            range={[1, 90, 1]}
            value={spread}
            onSet={(to) => {
              session.grow.value = { ...session.grow.peek(), spread: to };
            }}
          />
        </>
      )}
      {hand === 'brush' && (
        <Slider
          hint="Radius of the brush"
          says={`brush ${(brush.value * view.rig.value.scale).toPrecision(2)} mm`}
          range={[4, 60, 1]}
          value={brush.value}
          onSet={(to) => {
            brush.value = to;
          }}
        />
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
