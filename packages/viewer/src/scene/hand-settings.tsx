import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Joining } from '../choosing/drafting.js';
import { BRUSHES, type HandSet } from './setting-keys.js';

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
export function HandSettings({ session, drafting, view, brush, through }: HandSet): JSX.Element {
  const hand = session.hand.value;
  const { turn, spread } = session.grow.value;
  const isCut = session.cutting.value !== undefined || session.section.value !== undefined;
  return (
    <div class="hand-settings">
      {hand !== 'turn' && <JoiningChoice joining={drafting.joining} />}
      {hand === 'grow' && (
        <>
          <Slider
            hint="How far the surface may turn from one point to the next. Alt and the wheel, [ and ], change both angles."
            says={`from point to point ${turn}°`}
            range={[0.5, 15, 0.5]}
            value={turn}
            onSet={(to) => {
              session.grow.value = { ...session.grow.peek(), turn: to };
            }}
          />
          <Slider
            hint="How far the surface may turn from the place pointed at, in all ([ and ])"
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
          hint="Radius of the brush ([ and ])"
          says={`brush ${(brush.value * view.rig.value.scale).toPrecision(2)} mm`}
          range={[...BRUSHES, 1]}
          value={brush.value}
          onSet={(to) => {
            brush.value = to;
          }}
        />
      )}
      {(hand === 'brush' || hand === 'box' || hand === 'outline') && (
        <label class="tick" title="Choose points that cannot be seen from here as well (T)">
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
        <label class="tick" title="Hide what lies in front of the section (A)">
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
        <label class="tick" title="Show the colors the scanner saw (C)">
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
