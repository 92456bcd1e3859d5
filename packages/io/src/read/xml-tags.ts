import { textOf } from './decimal.js';
import { refusal } from './refusal.js';

const SLASH = 47;
const EQUALS = 61;

/** Blank of XML: space, tab, line feed, carriage return. */
export const isXmlBlank = (c: number): boolean => c === 32 || c === 9 || c === 10 || c === 13;

/**
 * Goes through the tags among the first `have` bytes and shows each, without its angle brackets; comments, instructions and text
 * between tags are passed over. Gives the place of the first byte not used: of a tag that is not all there.
 * A document type is refused: with it come entities, which can make a small file endless, and models need none. Errors: `bad-model`.
 */
export function forEachTag(
  bytes: Uint8Array,
  have: number,
  name: string,
  show: (from: number, to: number) => void,
): number {
  let i = 0;
  for (;;) {
    while (i < have && bytes[i] !== 60) i++;
    if (i + 1 >= have) return i;
    const c = bytes[i + 1];
    if (c === 33) {
      // <!-- … -->, <![CDATA[ … ]]> or a document type
      if (i + 9 > have) return i;
      const isComment = bytes[i + 2] === 45;
      if (!isComment && bytes[i + 2] !== 91) {
        throw refusal(
          name,
          'bad-model',
          'its model declares a document type, which models have no use for. Export it again.',
        );
      }
      const end = isComment ? find(bytes, have, i + 4, 45, 45, 62) : find(bytes, have, i + 9, 93, 93, 62);
      if (end < 0) return i;
      i = end;
    } else if (c === 63) {
      const end = find(bytes, have, i + 2, 63, 62);
      if (end < 0) return i;
      i = end;
    } else {
      let to = i + 1;
      let quote = 0;
      for (; to < have; to++) {
        const b = bytes[to];
        if (quote !== 0) {
          if (b === quote) quote = 0;
        } else if (b === 34 || b === 39) quote = b;
        else if (b === 62) break;
      }
      if (to >= have) return i;
      show(i + 1, to);
      i = to + 1;
    }
  }
}

/** The place behind the first of these bytes in a row, from `at` on; -1 if they do not come. */
function find(bytes: Uint8Array, have: number, at: number, ...row: readonly number[]): number {
  for (let i = at; i + row.length <= have; i++) {
    let k = 0;
    while (k < row.length && bytes[i + k] === row[k]) k++;
    if (k === row.length) return i + k;
  }
  return -1;
}

/** The name of a tag as it is written, which a closing tag has behind a slash. */
export interface TagName {
  /** With its prefix: `p:item`. */
  readonly qualified: string;
  /** Before the colon; empty where there is none. */
  readonly prefix: string;
  readonly local: string;
  /** Where its attributes begin. */
  readonly attributes: number;
}

/** Bytes of the longest name looked at. */
const LONGEST_NAME = 1000;

/** The name of the tag in [from, to). */
export function tagName(bytes: Uint8Array, from: number, to: number): TagName {
  const start = bytes[from] === SLASH ? from + 1 : from;
  let at = start;
  while (at < to && !isXmlBlank(bytes[at]) && bytes[at] !== SLASH) at++;
  const qualified = textOf(bytes, start, Math.min(at, start + LONGEST_NAME));
  const colon = qualified.indexOf(':');
  return {
    qualified,
    prefix: qualified.slice(0, Math.max(colon, 0)),
    local: qualified.slice(colon + 1),
    attributes: at,
  };
}

/** Attributes of a tag as text, by their names as they are written; character references and the five entities of XML are read. */
export function attributesOf(bytes: Uint8Array, at: number, to: number): Map<string, string> {
  const attributes = new Map<string, string>();
  let i = at;
  for (;;) {
    while (i < to && (isXmlBlank(bytes[i]) || bytes[i] === SLASH)) i++;
    const from = i;
    while (i < to && bytes[i] !== EQUALS && !isXmlBlank(bytes[i])) i++;
    const name = textOf(bytes, from, i);
    i = behindXmlBlanks(bytes, i, to);
    if (i >= to) return attributes;
    if (bytes[i] !== EQUALS) continue;
    i = behindXmlBlanks(bytes, i + 1, to);
    const quote = bytes[i];
    if (quote !== 34 && quote !== 39) continue;
    let end = i + 1;
    while (end < to && bytes[end] !== quote) end++;
    if (end === to) return attributes;
    attributes.set(name, withoutReferences(textOf(bytes, i + 1, end)));
    i = end + 1;
  }
}

function behindXmlBlanks(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  while (at < to && isXmlBlank(bytes[at])) at++;
  return at;
}

const entities: ReadonlyMap<string, string> = new Map([
  ['lt', '<'],
  ['gt', '>'],
  ['amp', '&'],
  ['quot', '"'],
  ['apos', "'"],
]);

/** The text with what its references stand for (XML 1.0, section 4.1); those of characters there are not, and of other entities, stay. */
export const withoutReferences = (text: string): string =>
  text.replace(
    /&(?:#x([0-9a-f]{1,6})|#([0-9]{1,7})|([a-z]{2,4}));/gi,
    (written, hex?: string, decimal?: string, word = '') => {
      if (word !== '') return entities.get(word) ?? written;
      const code = hex === undefined ? Number(decimal) : Number.parseInt(hex, 16);
      return code > 0 && code <= 0x10ffff ? String.fromCodePoint(code) : written;
    },
  );
