import { refusal } from './refusal.js';

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

/** Name of a tag without its prefix and the slash of a closing one, and where its attributes begin. */
export function tagName(bytes: Uint8Array, from: number, to: number): { name: string; attributes: number } {
  let at = bytes[from] === 47 ? from + 1 : from;
  let name = '';
  for (; at < to && !isXmlBlank(bytes[at]) && bytes[at] !== 47; at++) {
    name = bytes[at] === 58 ? '' : name + String.fromCharCode(bytes[at]);
  }
  return { name, attributes: at };
}

/** Attributes of a tag as text, by their names without prefix. */
export function attributesOf(bytes: Uint8Array, at: number, to: number): Map<string, string> {
  const text = new TextDecoder().decode(bytes.subarray(at, to));
  const attributes = new Map<string, string>();
  for (const [, name, one, two] of text.matchAll(/([^\s=:/]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g)) {
    attributes.set(
      name,
      (one ?? two).replace(/&(lt|gt|amp|quot|apos);/g, (_, word: keyof typeof entities) => entities[word]),
    );
  }
  return attributes;
}

const entities = { lt: '<', gt: '>', amp: '&', quot: '"', apos: "'" };
