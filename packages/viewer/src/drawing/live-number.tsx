import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { typedNumber } from '../paper/typed-number.js';

export interface LiveNumberProps {
  readonly name: string;
  readonly value: number;
  /** At each key that leaves a number. */
  onNumber(value: number): void;
}

/** A number that is taken while it is typed; what comes in meanwhile does not write over it. */
export function LiveNumber({ name, value, onNumber }: LiveNumberProps): JSX.Element {
  const typed = useSignal<string | undefined>(undefined);
  return (
    <input
      type="text"
      inputMode="decimal"
      aria-label={name}
      value={typed.value ?? String(value)}
      onInput={(event) => {
        const text = event.currentTarget.value;
        typed.value = text;
        const number = typedNumber(text);
        if (number !== undefined && Number.isFinite(number)) onNumber(number);
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
