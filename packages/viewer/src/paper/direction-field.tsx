import type { Vec3 } from '@fettle/geom';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { KnownDirection } from './known-direction.js';
import { NumberField } from './number-field.js';
import { SelectField } from './select-field.js';

export interface DirectionFieldProps {
  readonly name: string;
  readonly hint: string;
  readonly value: KnownDirection | undefined;
  /** Ids of rows that have a direction. */
  readonly rows: readonly string[];
  /** Whose axes numbers are along, in words. */
  readonly frame: string;
  onDirection(value: KnownDirection | undefined): void;
}

const AXES: readonly { readonly letter: string; readonly along: Vec3 }[] = [
  { letter: 'x', along: [1, 0, 0] },
  { letter: 'y', along: [0, 1, 0] },
  { letter: 'z', along: [0, 0, 1] },
];
const TYPED = ' typed';
const isNone = (direction: Vec3): boolean => direction.every((part) => part === 0);

/** A direction from a row, along an axis, or typed as three numbers. */
export function DirectionField({ name, hint, value, rows, frame, onDirection }: DirectionFieldProps): JSX.Element {
  const typed = useSignal<Vec3 | undefined>(undefined);
  const axis = AXES.find(({ along }) => typeof value === 'object' && along.every((part, k) => part === value[k]));
  const numbers = typed.value ?? (typeof value === 'object' && !axis ? value : undefined);
  const pick = (picked: string | undefined): void => {
    if (picked === TYPED) {
      typed.value = typeof value === 'object' ? value : [0, 0, 1];
      onDirection(typed.value);
      return;
    }
    typed.value = undefined;
    onDirection(AXES.find(({ letter }) => picked === TYPED + letter)?.along ?? picked);
  };
  const type = (k: number, number: number | undefined): void => {
    const next = (numbers ?? [0, 0, 1]).map((part, j) => (j === k ? (number ?? 0) : part)) as unknown as Vec3;
    typed.value = next;
    if (!isNone(next)) onDirection(next);
  };
  return (
    <>
      <SelectField
        name={name}
        hint={hint}
        none="as the points say"
        value={numbers ? TYPED : axis ? TYPED + axis.letter : typeof value === 'string' ? value : undefined}
        offers={[
          ...rows,
          ...AXES.map(({ letter }) => ({ value: TYPED + letter, words: `${letter} of ${frame}` })),
          { value: TYPED, words: 'numbers' },
        ]}
        onPick={pick}
      />
      {numbers && (
        <fieldset class="direction" aria-label={`Direction in ${frame}`}>
          {AXES.map(({ letter }, k) => (
            <NumberField
              key={letter}
              name={letter}
              hint={`Part of the direction along ${letter} of ${frame}; its length does not matter`}
              value={numbers[k]}
              onNumber={(number) => type(k, number)}
            />
          ))}
        </fieldset>
      )}
      {numbers && isNone(numbers) && <p class="why">One of the three numbers must not be 0.</p>}
    </>
  );
}
