import type { SheetValue } from '@fettle/geom';
import { isUnsure, limitsText, UNSURE, uncertaintyText, valueText } from '@fettle/io';
import type { JSX } from 'preact';
import { Sign } from './signs.js';

const minus = (text: string): string => text.replace('-', '−');

/** A value with its uncertainty and unit. */
export function valueWords(value: SheetValue): string {
  const doubt = uncertaintyText(value);
  const plusMinus = value.given ? ' given' : doubt === '0' ? ' exact' : doubt && ` ± ${doubt}`;
  return value.unit === '°' ? `${minus(valueText(value))}${plusMinus}°` : `${minus(valueText(value))}${plusMinus} mm`;
}

/** A line of the job sheet: name, value ± uncertainty, unit; limits and verdict in words and a sign. */
export function ValueLine({ value }: { readonly value: SheetValue }): JSX.Element {
  const { name, unit, verdict } = value;
  const doubt = uncertaintyText(value);
  return (
    <span class="value-line">
      <span class="value-name">{name.replaceAll('-', ' ')}</span> <span class="number">{minus(valueText(value))}</span>{' '}
      <span class="doubt">{value.given ? 'given' : doubt === '0' ? 'exact' : doubt && `± ${doubt}`}</span>{' '}
      <span class="unit">{unit}</span>
      {verdict !== undefined && (
        <span class={`verdict ${verdict}`} title={isUnsure(value) ? UNSURE : undefined}>
          <span class="limits">{minus(limitsText(value.limits))}</span>{' '}
          <Sign name={verdict === 'within' ? 'tick' : 'close'} /> {verdict}
          {isUnsure(value) && ', unsure'}
        </span>
      )}
    </span>
  );
}
