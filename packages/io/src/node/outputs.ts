import { mkdir, readFile, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { FettleError, type Results, type Scan } from '@fettle/geom';
import { type HandedOver, handOver } from '../deliver/hand-over.js';
import type { OutputFileOptions } from '../deliver/output-files.js';
import { ALL_SCANS, FILE_LIST } from '../deliver/output-name.js';
import { ByteHash } from './byte-hash.js';
import { fileError, isDiskFull, writeError } from './file-error.js';
import { FileSet, type ListedFile } from './file-set.js';

export interface OutputOptions extends Omit<OutputFileOptions, 'versions'> {
  /** Told before each file and after each piece of it, with the bytes handed over so far. */
  onProgress?(file: string, bytes: number): void;
  readonly signal?: AbortSignal;
}

/**
 * Writes the files of what a plan gave on a scan, see `handOver`, into a folder, which is made when missing. Files of their names are
 * replaced, all of them together or none: see `FileSet`.
 *
 * @returns the names of the files written, and the results they hold
 * @throws FettleError `file-not-written` of the results and the job sheet, and of any file where the disk is full; `out-not-a-folder`
 */
export async function writeOutputs(
  folder: string,
  scan: Scan,
  results: Results,
  options: OutputOptions = {},
): Promise<HandedOver> {
  await makeFolder(folder);
  const set = new FileSet(folder);
  try {
    const handed = await handOver(
      results,
      scan,
      async ({ name, chunks }) => {
        options.onProgress?.(name, 0);
        await set.add(name, watched(name, chunks(), options));
      },
      { ...options, versions: { node: process.versions.node }, endsAll: isDiskFull },
    );
    await set.publish(options.source);
    return handed;
  } finally {
    await set.drop();
  }
}

/**
 * Writes the table over the scans of a batch, and the list of what belongs to it: itself and the lists in the folders of the scans.
 *
 * @throws FettleError `file-not-written`
 */
export async function writeSummary(out: string, table: Uint8Array, folders: readonly string[]): Promise<void> {
  const set = new FileSet(out);
  try {
    await set.add(ALL_SCANS, [table]);
    await set.publish(undefined, await Promise.all(folders.map((folder) => listed(out, `${folder}/${FILE_LIST}`))));
  } finally {
    await set.drop();
  }
}

async function listed(out: string, name: string): Promise<ListedFile> {
  const path = join(out, name);
  const hash = new ByteHash();
  try {
    hash.take(await readFile(path));
  } catch (error) {
    throw fileError(path, error);
  }
  return { name, ...hash.end() };
}

/** Makes a folder and those above it. @throws FettleError `out-not-a-folder` where a file has the name, `file-not-written` */
export async function makeFolder(folder: string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true });
  } catch (thrown) {
    const error = await whyNotMade(folder, thrown);
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' || code === 'ENOTDIR')
      throw new FettleError('out-not-a-folder', `${folder}: a file has this name; outputs need a folder.`, {
        cause: error,
      });
    throw writeError(folder, error);
  }
}

/** Making folders that are missing says of any that cannot be made that it is missing: the first of them, made alone, says why. */
async function whyNotMade(folder: string, error: unknown): Promise<unknown> {
  if ((error as NodeJS.ErrnoException).code !== 'ENOENT') return error;
  const above = dirname(folder);
  const isThere = await stat(above).then(
    () => true,
    () => false,
  );
  if (!isThere) return above === folder ? error : await whyNotMade(above, error);
  return await mkdir(folder).then(
    () => error,
    (why: unknown) => why,
  );
}

/** The pieces of a file, until the signal says stop: then its reason is thrown, on which the file is given up. */
function* watched(
  file: string,
  chunks: Iterable<Uint8Array>,
  { onProgress, signal }: OutputOptions,
): Iterable<Uint8Array> {
  let bytes = 0;
  signal?.throwIfAborted();
  for (const chunk of chunks) {
    yield chunk;
    bytes += chunk.length;
    onProgress?.(file, bytes);
    signal?.throwIfAborted();
  }
}
