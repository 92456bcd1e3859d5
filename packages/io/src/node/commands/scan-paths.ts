import { lstat } from 'node:fs/promises';
import { isAbsolute } from 'node:path';
import { FettleError } from '@fettle/geom';
import { glob, isDynamicPattern } from 'tinyglobby';
import { isStdin } from '../pipe.js';

/**
 * The scan files named on a command line. A pattern such as `monday/*.ply` that the shell has left as it is, as those of Windows do,
 * stands for the files it fits, in the order of their names. A file whose very name looks like a pattern is that file.
 *
 * @throws FettleError `no-match`, `stdin-twice`
 */
export async function scanPaths(given: readonly string[], plan?: string): Promise<string[]> {
  const paths = (await Promise.all(given.map(matches))).flat();
  if ([...paths, ...(plan === undefined ? [] : [plan])].filter(isStdin).length > 1)
    throw new FettleError('stdin-twice', 'Standard input holds one file: name - once, and the others by their paths.');
  return paths;
}

async function matches(path: string): Promise<string[]> {
  if (isStdin(path)) return [path];
  const pattern = process.platform === 'win32' ? path.replaceAll('\\', '/') : path;
  if (!isDynamicPattern(pattern) || (await exists(path))) return [path];
  const found = await glob(pattern, {
    absolute: isAbsolute(path),
    expandDirectories: false,
    // As the file systems have it that are usual there.
    caseSensitiveMatch: process.platform !== 'win32' && process.platform !== 'darwin',
  });
  if (found.length === 0)
    throw new FettleError('no-match', `${path}: there is no such file, and none that fits it as a pattern.`);
  return found.sort();
}

const exists = (path: string): Promise<boolean> =>
  lstat(path).then(
    () => true,
    () => false,
  );
