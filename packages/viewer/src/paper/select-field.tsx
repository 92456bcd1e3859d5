import type { JSX } from 'preact';

export interface Offer {
  readonly value: string;
  readonly words: string;
}

export interface SelectFieldProps {
  readonly name: string;
  /** What it is for, shown as its tooltip. */
  readonly hint: string;
  readonly value: string | undefined;
  /** What no choice is called; absent: one is always chosen. */
  readonly none?: string;
  readonly offers: readonly (Offer | string)[];
  onPick(value: string | undefined): void;
}

/** A choice of one among several, by name. */
export function SelectField({ name, hint, value, none, offers, onPick }: SelectFieldProps): JSX.Element {
  const all = offers.map((offer) => (typeof offer === 'string' ? { value: offer, words: offer } : offer));
  const isThere = all.some((offer) => offer.value === value);
  return (
    <label class="pick" title={hint}>
      <span>{name}</span>
      <select
        title={hint}
        value={isThere ? value : ''}
        onChange={({ currentTarget }) => onPick(currentTarget.value || undefined)}
      >
        {none !== undefined && <option value="">{none}</option>}
        {all.map((offer) => (
          <option key={offer.value} value={offer.value}>
            {offer.words}
          </option>
        ))}
      </select>
    </label>
  );
}
