import { open, rename } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { writeError } from './file-error.js';
import { modeOf, remove, stagingName, sweep } from './staging.js';

/** The pieces of a file. */
export type Pieces = Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

/**
 * Writes a file whole or not at all: the pieces go into a file beside the target, which is flushed to the disk and renamed into
 * place, with the permissions of what it replaces. On any failure the target stays as it was and the file beside it is removed; what a
 * process left there that was killed is removed by the next.
 * Errors: `file-not-written`, saying why, and what making the pieces throws.
 */
export async function writeFileWhole(path: string, chunks: Pieces): Promise<void> {
  const folder = dirname(path);
  const beside = join(folder, stagingName());
  await sweep(folder);
  try {
    await writeFlushed(beside, chunks, await modeOf(path));
    await rename(beside, path);
  } catch (error) {
    await remove(beside);
    throw writeError(path, error);
  }
}

/** Writes a new file and flushes it to the disk. */
export async function writeFlushed(path: string, chunks: Pieces, mode: number | undefined): Promise<void> {
  const file = await open(path, 'wx');
  try {
    for await (const chunk of chunks) await file.writeFile(chunk);
    if (mode !== undefined) await file.chmod(mode);
    await file.sync();
  } finally {
    await file.close();
  }
}
