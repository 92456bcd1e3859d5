import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { leaveField } from './leave-field.js';
import { typedNumber } from './typed-number.js';

export interface NumberFieldProps {
  readonly name: string;
  /** What it is for, shown as its tooltip. */
  readonly hint: string;
  readonly value: number | undefined;
  readonly unit?: string;
  readonly hides?: boolean;
  readonly placeholder?: string;
  onNumber(value: number | undefined): void;
}

/** A field for a number; what is no number is marked and not taken. */
export function NumberField({ name, hint, value, unit, hides, placeholder, onNumber }: NumberFieldProps): JSX.Element {
  // What is being typed stays, whatever else of the form changes meanwhile.
  const typing = useSignal<string | undefined>(undefined);
  const shown = value === undefined || Number.isNaN(value) ? '' : String(value);
  return (
    <label class="number-field" title={hint}>
      <span class={hides ? 'unseen' : undefined}>{name}</span>
      <input
        type="text"
        title={hint}
        inputMode="decimal"
        autocomplete="off"
        value={typing.value ?? shown}
        placeholder={placeholder}
        onKeyDown={(event) => {
          if (event.key === 'Escape' && !event.currentTarget.form) typing.value = undefined;
          leaveField(event, shown);
        }}
        onInput={({ currentTarget }) => {
          typing.value = currentTarget.value;
          currentTarget.setCustomValidity('');
        }}
        onChange={({ currentTarget }) => {
          const typed = typedNumber(currentTarget.value);
          const isNumber = typed === undefined || Number.isFinite(typed);
          currentTarget.setCustomValidity(isNumber ? '' : 'A number, such as 12.5');
          if (isNumber) {
            onNumber(typed);
            typing.value = undefined;
          } else currentTarget.reportValidity();
        }}
      />
      {unit && <span class="unit">{unit}</span>}
    </label>
  );
}
