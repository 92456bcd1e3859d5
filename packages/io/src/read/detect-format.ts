import { countText } from '../text/number-text.js';
import { textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { otherKind, startsWith } from './magic.js';
import { objStatements } from './obj-statement.js';
import { offKeyword } from './off-keyword.js';
import { isPcd } from './pcd-header.js';
import { fieldsOf, namedColumns, rowSeparator } from './point-columns.js';
import { refusal } from './refusal.js';
import { exportAs } from './scan-source.js';
import { isStlSize, looksLikeFacets } from './stl-facets.js';

export type DetectedFormat = 'ply' | 'obj' | 'stl-binary' | 'stl-text' | 'xyz' | 'off' | 'pcd' | '3mf' | 'glb';

/** Bytes that tell a format for certain, unless all of them are comments. */
export const HEAD = 4096;
/** Longest run of comments before the first statement. */
const LONGEST = 1 << 20;

/**
 * Tells the format from the first bytes: binary STL by its size, 84 + 50·n, whatever the first bytes say; PLY by its magic word; PCD by
 * its first statement; binary STL where the size is not known or does not fit, by a header that is no text before facets that make sense; text STL and OBJ by
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

  // Its size first: the 80 bytes of a header may begin with any word.
  if (size !== undefined && isStlSize(head, size)) return 'stl-binary';
  if (isPlyMagic(head)) return 'ply';
  if (startsWith(head, 'glTF')) return 'glb';
  // A zip archive: a 3MF file, or its reader says what else.
  if (startsWith(head, 'PK\x03\x04') || startsWith(head, 'PK\x05\x06')) return '3mf';
  if (isPcd(head)) return 'pcd';
  const other = otherKind(head);
  if (other !== undefined || !isText(head)) {
    if (other === undefined && looksLikeFacets(head)) return 'stl-binary';
    const first = Array.from(head.subarray(0, 8), (b) => b.toString(16).padStart(2, '0')).join(' ');
    const called = other === undefined ? '' : ` (${other})`;
    throw refusal(name, 'not-a-scan', `no scan this program reads: binary, beginning ${first}${called}. ${exportAs}`);
  }
  const start = head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? 3 : 0;
  const text = textOf(head, start, head.length);
  const noText = (statement: string) =>
    refusal(name, 'not-a-scan', `no scan this program reads: text, beginning '${excerpt(statement)}'. ${exportAs}`);
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
    if (offKeyword.test(word)) return 'off';
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

/** Whether the first line is the magic word of PLY alone. */
function isPlyMagic(head: Uint8Array): boolean {
  let at = 3;
  while (head[at] === 32 || head[at] === 9) at++;
  return startsWith(head, 'ply') && (at >= head.length || head[at] === 10 || head[at] === 13);
}

/** Whether there is nothing in it that no text holds. */
function isText(head: Uint8Array): boolean {
  for (const c of head) if (c < 32 && c !== 9 && c !== 10 && c !== 13 && c !== 12 && c !== 26) return false;
  return true;
}
