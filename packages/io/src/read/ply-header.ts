import { countText } from '../text/number-text.js';
import { textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import { type LengthUnit, unitNamedIn } from './units.js';

/** Scalar types: Turk's first names and the sized ones in use since. */
export type Scalar = 'int8' | 'uint8' | 'int16' | 'uint16' | 'int32' | 'uint32' | 'float32' | 'float64';

const scalars: Readonly<Record<string, Scalar>> = {
  char: 'int8',
  uchar: 'uint8',
  short: 'int16',
  ushort: 'uint16',
  int: 'int32',
  uint: 'uint32',
  float: 'float32',
  double: 'float64',
  int8: 'int8',
  uint8: 'uint8',
  int16: 'int16',
  uint16: 'uint16',
  int32: 'int32',
  uint32: 'uint32',
  float32: 'float32',
  float64: 'float64',
};

export const sizeOf: Readonly<Record<Scalar, number>> = {
  int8: 1,
  uint8: 1,
  int16: 2,
  uint16: 2,
  int32: 4,
  uint32: 4,
  float32: 4,
  float64: 8,
};

export interface PlyProperty {
  readonly name: string;
  readonly type: Scalar;
  /** Type of the count that precedes a list; absent for a single value. */
  readonly countType?: Scalar;
}

export interface PlyElement {
  readonly name: string;
  readonly count: number;
  readonly properties: PlyProperty[];
}

export interface PlyHeader {
  readonly format: 'ascii' | 'binary_little_endian' | 'binary_big_endian';
  readonly elements: readonly PlyElement[];
  readonly unit?: LengthUnit;
  /** Bytes, up to and with the line end behind `end_header`. */
  readonly size: number;
  readonly lines: number;
}

/** Longest header believed. */
const LONGEST = 1 << 20;

/**
 * Parses the header of a PLY file (G. Turk, "The PLY Polygon File Format", 1994) from its first bytes; undefined when more
 * are needed. Errors: `bad-header`, `unknown-type`, `unknown-format`.
 */
export function parsePlyHeader(bytes: Uint8Array, have: number, last: boolean, name: string): PlyHeader | undefined {
  // The first line end tells which kind the header has; a lone carriage return must not swallow a data byte 10 behind it.
  let at = 3;
  while (at < have && bytes[at] !== 10 && bytes[at] !== 13) at++;
  if (at + 1 >= have && !last) return undefined;
  const lineEnd = bytes[at] === 13 && bytes[at + 1] !== 10 ? 13 : 10;

  const header = new HeaderLines(name);
  let from = 0;
  let number = 0;
  for (;;) {
    let to = from;
    while (to < have && bytes[to] !== lineEnd) to++;
    if (to === have || to > LONGEST) {
      if (to <= LONGEST && !last) return undefined;
      const where =
        to > LONGEST ? `in its first ${countText(LONGEST)} bytes` : `in the ${countText(have)} bytes of the file`;
      throw refusal(name, 'bad-header', `the PLY header has no 'end_header' ${where}. Export it again.`);
    }
    number++;
    const line = textOf(bytes, from, to).trim();
    from = to + 1;
    if (line === 'end_header') return header.done(from, number);
    header.take(line, number);
  }
}

class HeaderLines {
  readonly #name: string;
  #format: PlyHeader['format'] | undefined;
  readonly #elements: PlyElement[] = [];
  readonly #elementNames = new Set<string>();
  /** Those of the last element. */
  readonly #propertyNames = new Set<string>();
  #unit: LengthUnit | undefined;

  constructor(name: string) {
    this.#name = name;
  }

  take(line: string, number: number): void {
    const words = line.split(/[ \t]+/);
    const isComment = words[0] === 'comment' || words[0] === 'obj_info';
    if (!isComment && Array.from(line).some((c) => c < ' ' && c !== '\t')) {
      throw this.#bad('bad-header', number, `'${excerpt(line)}' holds characters that are no text`);
    }
    switch (words[0]) {
      case 'ply':
      case '':
        return;
      case 'comment':
      case 'obj_info':
        this.#unit ??= unitNamedIn(line);
        return;
      case 'format':
        this.#takeFormat(words, line, number);
        return;
      case 'element':
        this.#takeElement(words, line, number);
        return;
      case 'property':
        this.#takeProperty(words, line, number);
        return;
      default:
        throw this.#bad('bad-header', number, `'${excerpt(line)}' is no line of a PLY header`);
    }
  }

  done(size: number, lines: number): PlyHeader {
    if (this.#format === undefined) throw this.#bad('bad-header', lines, "the header ends without a 'format' line");
    return {
      format: this.#format,
      elements: this.#elements,
      ...(this.#unit && { unit: this.#unit }),
      size,
      lines,
    };
  }

  #takeFormat(words: readonly string[], line: string, number: number): void {
    const format = words[1];
    if (format !== 'ascii' && format !== 'binary_little_endian' && format !== 'binary_big_endian') {
      throw this.#bad(
        'unknown-format',
        number,
        `unknown format in '${excerpt(line)}'; known are ascii, binary_little_endian and binary_big_endian`,
      );
    }
    if (this.#format !== undefined) throw this.#bad('bad-header', number, "a second 'format' line");
    this.#format = format;
  }

  #takeElement(words: readonly string[], line: string, number: number): void {
    const count = Number(words[2]);
    if (words.length !== 3 || !/^\d+$/.test(words[2]) || !Number.isSafeInteger(count)) {
      throw this.#bad('bad-header', number, `'${excerpt(line)}' should be 'element', a name and a count`);
    }
    if (this.#elementNames.has(words[1])) {
      throw this.#bad('bad-header', number, `a second element '${excerpt(words[1])}'`);
    }
    this.#elementNames.add(words[1]);
    this.#propertyNames.clear();
    this.#elements.push({ name: words[1], count, properties: [] });
  }

  #takeProperty(words: readonly string[], line: string, number: number): void {
    const element = this.#elements.at(-1);
    if (element === undefined) {
      throw this.#bad('bad-header', number, `'${excerpt(line)}' stands before the first 'element' line`);
    }
    const isList = words[1] === 'list';
    if (words.length !== (isList ? 5 : 3)) {
      throw this.#bad(
        'bad-header',
        number,
        `'${excerpt(line)}' should be 'property', a type and a name, or 'property list', two types and a name`,
      );
    }
    const name = words[isList ? 4 : 2];
    if (this.#propertyNames.has(name)) {
      throw this.#bad(
        'bad-header',
        number,
        `a second property '${excerpt(name)}' of element '${excerpt(element.name)}'`,
      );
    }
    this.#propertyNames.add(name);
    const type = this.#scalar(words[isList ? 3 : 1], line, number);
    if (!isList) {
      element.properties.push({ name, type });
      return;
    }
    const countType = this.#scalar(words[2], line, number);
    if (countType.startsWith('float')) {
      throw this.#bad(
        'bad-header',
        number,
        `'${excerpt(line)}' counts a list with a ${words[2]}; a count is an integer`,
      );
    }
    element.properties.push({ name, type, countType });
  }

  #scalar(word: string, line: string, number: number): Scalar {
    const type = Object.hasOwn(scalars, word) ? scalars[word] : undefined;
    if (type === undefined) {
      throw this.#bad(
        'unknown-type',
        number,
        `unknown type '${excerpt(word)}' in '${excerpt(line)}'; known are ${Object.keys(scalars).join(', ')}`,
      );
    }
    return type;
  }

  #bad(code: string, number: number, what: string): Error {
    return refusal(this.#name, code, `line ${countText(number)}: ${what}. Export it again.`);
  }
}
