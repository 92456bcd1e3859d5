import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { isXmlBlank, withoutReferences } from './xml-tags.js';

type Refuse = (code: string, what: string) => Error;

/**
 * Reads the attributes x, y and z, or v1, v2 and v3, of a tag into `values`; others are passed over. Writes over the quotes of
 * the bytes.
 */
export function readThree(
  bytes: Uint8Array,
  at: number,
  to: number,
  names: 'xyz' | 'v',
  values: Float64Array,
  refuse: Refuse,
): void {
  const isVertex = names === 'xyz';
  let seen = 0;
  let i = at;
  for (;;) {
    while (i < to && (isXmlBlank(bytes[i]) || bytes[i] === 47)) i++;
    if (i >= to) break;
    const from = i;
    while (i < to && bytes[i] !== 61 && !isXmlBlank(bytes[i])) i++;
    const length = i - from;
    let k = -1;
    if (isVertex) {
      if (length === 1) k = bytes[from] - 120;
    } else if (length === 2 && bytes[from] === 118) k = bytes[from + 1] - 49;
    while (i < to && bytes[i] !== 34 && bytes[i] !== 39) i++;
    const quote = bytes[i++];
    let end = i;
    while (end < to && bytes[end] !== quote) end++;
    if (end >= to) throw refuse('bad-model', 'has an attribute without a value');
    if (k >= 0 && k < 3) {
      while (isXmlBlank(bytes[i])) i++;
      // A blank for the closing quote, so that the number ends there.
      bytes[end] = 32;
      let next = readDecimal(bytes, i, values, k);
      while (next >= 0 && next < end && isXmlBlank(bytes[next])) next++;
      if (next !== end) values[k] = referredNumber(textOf(bytes, i, Math.min(end, i + 200)), refuse);
      seen |= 1 << k;
    }
    i = end + 1;
  }
  if (seen !== 7) {
    const missing = [0, 1, 2].filter((k) => !(seen & (1 << k))).map((k) => (isVertex ? 'xyz'[k] : `v${k + 1}`));
    throw refuse('bad-model', `has no ${missing.join(', ')}`);
  }
}

/** A number of which characters are written as references. */
function referredNumber(text: string, refuse: Refuse): number {
  const plain = withoutReferences(text).trim();
  const value = text.includes('&') && plain !== '' ? Number(plain) : Number.NaN;
  if (!Number.isFinite(value)) throw refuse('bad-number', `holds '${excerpt(text)}' where a number belongs`);
  return value;
}

/** Whether the tag at `from` has this name and no longer one. */
export function isNamed(bytes: Uint8Array, from: number, word: string): boolean {
  for (let k = 0; k < word.length; k++) if (bytes[from + k] !== word.charCodeAt(k)) return false;
  const behind = bytes[from + word.length];
  return isXmlBlank(behind) || behind === 47 || behind === 62;
}
