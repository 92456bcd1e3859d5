import { countText } from '../report/number-text.js';
import { textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { objStatements } from './obj-statement.js';
import { fieldsOf, namedColumns, rowSeparator } from './point-columns.js';
import { refusal } from './refusal.js';

export type DetectedFormat = 'ply' | 'obj' | 'stl-binary' | 'stl-text' | 'xyz' | '3mf' | 'glb';

/** Bytes that tell a format for certain, unless all of them are comments. */
export const HEAD = 4096;
/** Longest run of comments before the first statement. */
const LONGEST = 1 << 20;

/**
 * Tells the format from the first bytes: PLY by its magic word; binary STL by its size, 84 + 50·n, whatever the first bytes say, and
 * where the size is not known or does not fit, by a header that is no text before facets that make sense; text STL and OBJ by
 * their first statements; a point list by a first row of numbers, which a heading or a count may precede. Undefined when more bytes are needed. Errors: `empty-file`, `not-a-scan`.
 *
 * @param total size of the file where known
 * @param last whether `head` is the whole file
 */
export function detectFormat(
  head: Uint8Array,
  total: number | undefined,
  last: boolean,
  name: string,
): DetectedFormat | undefined {
  if (head.length === 0 && last) throw refusal(name, 'empty-file', 'the file is empty. Export it again.');
  if (head.length < HEAD && !last) return undefined;
  const size = last ? head.length : total;

  if (startsWith(head, 'ply') && (head.length === 3 || head[3] <= 32)) return 'ply';
  if (size !== undefined && isStlSize(head, size)) return 'stl-binary';
  if (startsWith(head, 'glTF')) return 'glb';
  // A zip archive: a 3MF file, or its reader says what else.
  if (startsWith(head, 'PK\x03\x04') || startsWith(head, 'PK\x05\x06')) return '3mf';
  if (!isText(head)) {
    if (looksLikeFacets(head)) return 'stl-binary';
    const first = Array.from(head.subarray(0, 8), (b) => b.toString(16).padStart(2, '0')).join(' ');
    throw refusal(
      name,
      'not-a-scan',
      `no scan this program reads: binary, beginning ${first}${knownBy(head)}. Export it as PLY, OBJ or STL.`,
    );
  }
  const start = head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? 3 : 0;
  const text = textOf(head, start, head.length);
  const noText = (statement: string) =>
    refusal(
      name,
      'not-a-scan',
      `no scan this program reads: text, beginning '${excerpt(statement)}'. Export it as PLY, OBJ or STL.`,
    );
  let beginning: string | undefined;
  for (const line of text.split(/\r\n|\r|\n/).slice(0, last ? undefined : -1)) {
    const statement = line.trim();
    if (statement === '' || /^(#|%|\/\/)/.test(statement)) continue;
    // Decimal commas are the point list's to refuse.
    if (rowSeparator(statement) !== undefined) return 'xyz';
    if (beginning !== undefined) throw noText(beginning);
    const word = statement.split(/\s/, 1)[0];
    if (word === 'ply') return 'ply';
    if (/^solid$/i.test(word)) return 'stl-text';
    if (objStatements.has(word)) return 'obj';
    // A count of rows, or a heading that names columns, must stand before rows.
    const isHeading = ([' ', ',', ';'] as const).some((s) => namedColumns(fieldsOf(statement, s)) !== undefined);
    if (!isHeading && !/^\d+$/.test(statement)) throw noText(statement);
    beginning = statement;
  }
  if (last && beginning !== undefined) throw noText(beginning);
  if (!last && head.length < LONGEST) return undefined;
  throw refusal(
    name,
    'not-a-scan',
    `no scan: ${countText(head.length)} bytes of blanks and comments. Export it again.`,
  );
}

function startsWith(head: Uint8Array, word: string): boolean {
  for (let i = 0; i < word.length; i++) if (head[i] !== word.charCodeAt(i)) return false;
  return true;
}

/** Whether a file of this size and beginning is a binary STL by its count. */
function isStlSize(head: Uint8Array, size: number): boolean {
  if (head.length < 84) return false;
  return size === 84 + 50 * new DataView(head.buffer, head.byteOffset).getUint32(80, true);
}

/** Whether there is nothing in it that no text holds. */
function isText(head: Uint8Array): boolean {
  for (const c of head) if (c < 32 && c !== 9 && c !== 10 && c !== 13 && c !== 12 && c !== 26) return false;
  return true;
}

/**
 * Whether a binary STL that ends early, is padded, or comes from a stream is meant: what follows the header must be facets, their
 * coordinates of a size lengths have, their normals unit or zero.
 */
function looksLikeFacets(head: Uint8Array): boolean {
  const view = new DataView(head.buffer, head.byteOffset, head.length);
  const facets = Math.min(Math.floor((head.length - 84) / 50), 20);
  if (facets < 1) return head.length >= 80 && head.length < 134 && startsWith(head, 'solid');
  let sensible = 0;
  let largest = 0;
  for (let f = 0; f < facets; f++) {
    const at = 84 + 50 * f;
    const [x, y, z] = [view.getFloat32(at, true), view.getFloat32(at + 4, true), view.getFloat32(at + 8, true)];
    const normal = x * x + y * y + z * z;
    let isSensible = Number.isNaN(normal) || normal === 0 || Math.abs(normal - 1) < 0.05;
    for (let k = at + 12; k < at + 48; k += 4) {
      const c = Math.abs(view.getFloat32(k, true));
      if (c > largest) largest = c;
      if (c !== 0 && !Number.isNaN(c) && !(c > 1e-12 && c < 1e9)) isSensible = false;
    }
    if (isSensible) sensible++;
  }
  return largest > 0 && sensible >= 0.8 * facets;
}

/** What else a file may be, by its first bytes. */
function knownBy(head: Uint8Array): string {
  const kinds: readonly (readonly [string, string])[] = [
    ['\x1f\x8b', 'compressed with gzip'],
    ['\x89PNG', 'a picture'],
    ['\xff\xd8\xff', 'a picture'],
    ['%PDF', 'a PDF'],
    ['\xff\xfe', 'text in UTF-16'],
    ['\xfe\xff', 'text in UTF-16'],
  ];
  const kind = kinds.find(([word]) => startsWith(head, word));
  return kind === undefined ? '' : ` (${kind[1]})`;
}
