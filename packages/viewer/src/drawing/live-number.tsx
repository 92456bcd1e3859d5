import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { typedNumber } from '../paper/typed-number.js';

export interface LiveNumberProps {
  readonly name: string;
  /** Undefined: the field is empty, and shows `empty`. */
  readonly value: number | undefined;
  /** What an empty field stands for. */
  readonly empty?: string;
  /** At each key that leaves a number. */
  onNumber(value: number): void;
  /** Where the field was emptied; absent: that changes nothing. */
  onEmpty?(): void;
}

/** A number that is taken while it is typed; what comes in meanwhile does not write over it. */
export function LiveNumber({ name, value, empty, onNumber, onEmpty }: LiveNumberProps): JSX.Element {
  const typed = useSignal<string | undefined>(undefined);
  return (
    <input
      type="text"
      inputMode="decimal"
      aria-label={name}
      placeholder={empty}
      value={typed.value ?? (value === undefined ? '' : String(value))}
      onInput={(event) => {
        const text = event.currentTarget.value;
        typed.value = text;
        const number = typedNumber(text);
        if (text.trim() === '') onEmpty?.();
        else if (number !== undefined && Number.isFinite(number)) onNumber(number);
      }}
      onBlur={() => {
        typed.value = undefined;
      }}
      onKeyDown={(event) => {
        if (event.key !== 'Enter' && event.key !== 'Escape') return;
        event.preventDefault();
        event.currentTarget.blur();
      }}
    />
  );
}
