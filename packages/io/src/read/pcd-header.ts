import { countText } from '../text/number-text.js';
import { textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import { type LengthUnit, unitNamedIn } from './units.js';

/** A field of a point. */
export interface PcdField {
  readonly name: string;
  /** Signed, unsigned or floating. */
  readonly type: 'I' | 'U' | 'F';
  /** Bytes of a value. */
  readonly size: number;
  /** Values a point. */
  readonly count: number;
  /** Bytes of a point before it. */
  readonly offset: number;
  /** Values of a point before it. */
  readonly place: number;
}

export interface PcdHeader {
  readonly fields: readonly PcdField[];
  readonly points: number;
  readonly data: 'ascii' | 'binary' | 'binary_compressed';
  readonly unit?: LengthUnit;
  /** Bytes of a point, and values. */
  readonly stride: number;
  readonly width: number;
  /** Bytes, up to and with the line end behind DATA. */
  readonly bytes: number;
  readonly lines: number;
}

/** Longest header believed. */
const LONGEST = 1 << 18;
const words = new Set('VERSION FIELDS COLUMNS SIZE TYPE COUNT WIDTH HEIGHT VIEWPOINT POINTS DATA'.split(' '));

/** Whether a file that begins so is PCD: its first statement, behind comments, says which version or which fields. */
export function isPcd(head: Uint8Array): boolean {
  for (let from = 0; from < head.length; ) {
    const end = head.indexOf(10, from);
    const to = end < 0 ? head.length : end;
    let at = from;
    while (at < to && head[at] <= 32) at++;
    if (at < to && head[at] !== 35) return /^(VERSION|FIELDS|COLUMNS)\s/.test(textOf(head, at, Math.min(to, at + 10)));
    from = to + 1;
  }
  return false;
}

/** Parses the header from the first bytes; undefined when more are needed. Errors: `bad-header`. */
export function parsePcdHeader(bytes: Uint8Array, have: number, last: boolean, name: string): PcdHeader | undefined {
  const lines = new Map<string, readonly string[]>();
  let unit: LengthUnit | undefined;
  let number = 0;
  for (let from = 0; from < Math.min(have, LONGEST); ) {
    const end = bytes.subarray(0, have).indexOf(10, from);
    if (end < 0) break;
    const line = textOf(bytes, from, end).trim();
    number++;
    from = end + 1;
    if (line === '') continue;
    if (line.startsWith('#')) {
      unit ??= unitNamedIn(line);
      continue;
    }
    const [word, ...values] = line.split(/\s+/);
    if (!words.has(word)) throw bad(name, number, `'${excerpt(line)}' is no line of a PCD header`);
    lines.set(word, values);
    if (word === 'DATA') return { ...headerOf(lines, name, number), ...(unit && { unit }), bytes: from, lines: number };
  }
  if (have < LONGEST && !last) return undefined;
  throw refusal(name, 'bad-header', "the PCD header has no 'DATA' line. Export it again.");
}

const bad = (name: string, line: number, what: string): Error =>
  refusal(name, 'bad-header', `line ${countText(line)}: ${what}. Export it again.`);

function headerOf(
  lines: ReadonlyMap<string, readonly string[]>,
  name: string,
  number: number,
): Pick<PcdHeader, 'fields' | 'points' | 'data' | 'stride' | 'width'> {
  const fail = (what: string): never => {
    throw bad(name, number, `before it ${what}`);
  };
  const whole = (text: string | undefined, what: string): number => {
    const value = /^\d{1,15}$/.test(text ?? '') ? Number(text) : fail(`${what} is no whole number`);
    return value;
  };
  const names = lines.get('FIELDS') ?? lines.get('COLUMNS') ?? fail('no FIELDS are named');
  const [sizes, types] = [lines.get('SIZE') ?? [], lines.get('TYPE') ?? []];
  const counts = lines.get('COUNT') ?? names.map(() => '1');
  if ([sizes, types, counts].some((list) => list.length !== names.length))
    fail(`SIZE, TYPE or COUNT have not ${countText(names.length)} entries, as FIELDS has`);
  let offset = 0;
  let place = 0;
  const fields = names.map((field, f): PcdField => {
    const [type, size, count] = [types[f], whole(sizes[f], 'a SIZE'), whole(counts[f], 'a COUNT')];
    const isType =
      type === 'F' ? size === 4 || size === 8 : (type === 'I' || type === 'U') && [1, 2, 4, 8].includes(size);
    if (!isType) fail(`field '${excerpt(field)}' is of type '${excerpt(type)}' and size ${countText(size)}`);
    const made = { name: field, type: type as PcdField['type'], size, count, offset, place };
    offset += size * count;
    place += count;
    return made;
  });
  const [width, height] = [lines.get('WIDTH'), lines.get('HEIGHT')].map((v) => v && whole(v[0], 'WIDTH or HEIGHT'));
  const product = width === undefined || height === undefined ? undefined : width * height;
  const points = lines.has('POINTS')
    ? whole(lines.get('POINTS')![0], 'POINTS')
    : (product ?? fail('no POINTS are counted'));
  if (product !== undefined && product !== points)
    fail(`WIDTH times HEIGHT is not ${countText(points)}, as POINTS says`);
  const data = lines.get('DATA')![0];
  if (data !== 'ascii' && data !== 'binary' && data !== 'binary_compressed')
    throw bad(name, number, `unknown data '${excerpt(data ?? '')}'; known are ascii, binary and binary_compressed`);
  return { fields, points, data, stride: offset, width: place };
}
