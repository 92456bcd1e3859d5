import type { SheetValue } from '@fettle/geom';
import { shortNumber, uncertaintyText, valueText } from '../text/number-text.js';

/**
 * A size as it stands on a drawing, with its ±: `⌀17.998 ± 0.035`, `R5.042 ± 0.047`, `153.4 ± 0.2°`; `⌀18 given` where the plan gave it.
 * The symbol stands right before the number (ISO 129-1).
 */
export function sizeText(value: SheetValue, symbol = ''): string {
  if (value.given) return `${symbol}${shortNumber(value.value)} given`;
  const doubt = uncertaintyText(value);
  const number = doubt === '' || doubt === '0' ? valueText(value) : `${valueText(value)} ± ${doubt}`;
  return `${symbol}${number}${value.unit === '°' ? '°' : ''}`;
}

/** What a sheet says of its numbers, below its scale bar. */
export const NOTES = {
  doubt: '±: 95 %, no tolerance',
  over: '( ): as far as scanned, no ± known',
} as const;
