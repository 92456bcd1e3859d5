import { basename, extname } from 'node:path';

/**
 * A folder name for each scan: its file's name without the ending. A name taken by an earlier scan, small and capital
 * letters alike as some file systems have it, gets `-2`, `-3` …
 */
export function scanFolders(paths: readonly string[]): string[] {
  const taken = new Set<string>();
  return paths.map((path) => {
    const name = basename(path, extname(path)) || 'scan';
    let folder = name;
    for (let n = 2; taken.has(folder.toLowerCase()); n++) folder = `${name}-${n}`;
    taken.add(folder.toLowerCase());
    return folder;
  });
}
