import { basename, extname } from 'node:path';
import { ALL_SCANS, DEVICE } from '../deliver/output-name.js';

/** Bytes of a folder's name: room is left for a number behind it. */
const LONGEST = 200;

/**
 * A folder name for each scan: its file's name without the ending, of letters, digits, spaces and `._()+-` alone, so that it lies in the
 * folder it is made in and every file system takes it. A name taken by an earlier scan, small and capital letters alike as some
 * file systems have it, gets `-2`, `-3` …
 */
export function scanFolders(paths: readonly string[]): string[] {
  const taken = new Set<string>([ALL_SCANS]);
  return paths.map((path) => {
    const name = safeName(basename(path, extname(path)));
    let folder = name;
    for (let n = 2; taken.has(folder.toLowerCase()); n++) folder = `${name}-${n}`;
    taken.add(folder.toLowerCase());
    return folder;
  });
}

function safeName(text: string): string {
  const name = withoutEnd(
    cut(text.normalize('NFC').replaceAll(/[^\p{L}\p{M}\p{N} ._()+-]+/gu, '-')).replace(/^[. ]+/, ''),
  );
  return name === '' || name === '-' ? 'scan' : DEVICE.test(name) ? `scan-${name}` : name;
}

/** Without the dots and blanks it ends with. */
function withoutEnd(name: string): string {
  let end = name.length;
  while (end > 0 && '. '.includes(name[end - 1]!)) end--;
  return name.slice(0, end);
}

/** As many of the first characters as have room. */
function cut(text: string): string {
  let bytes = 0;
  let kept = '';
  for (const character of text) {
    bytes += Buffer.byteLength(character);
    if (bytes > LONGEST) break;
    kept += character;
  }
  return kept;
}
