import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { FettleError, type Results, type Scan, simplifyDeliveries } from '@fettle/geom';
import { type OutputFileOptions, outputFiles } from '../deliver/output-files.js';
import { writeError } from './file-error.js';
import { writeFileWhole } from './files.js';

export interface OutputOptions extends Omit<OutputFileOptions, 'versions'> {
  /** Told before each file and after each piece of it, with the bytes handed over so far. */
  onProgress?(file: string, bytes: number): void;
  readonly signal?: AbortSignal;
}

/**
 * Writes the files of what a plan gave on a scan, see `outputFiles`, into a folder, which is made when missing. Files of their names are
 * replaced, each as a whole or not at all.
 *
 * @returns the names of the files written
 * @throws FettleError `file-not-written`, `out-not-a-folder`
 */
export async function writeOutputs(
  folder: string,
  scan: Scan,
  results: Results,
  options: OutputOptions = {},
): Promise<string[]> {
  await makeFolder(folder);
  const complete = await simplifyDeliveries(results, scan, options.signal);
  const files = outputFiles(complete, scan, { ...options, versions: { node: process.versions.node } });
  for (const { name, chunks } of files) {
    options.onProgress?.(name, 0);
    await writeFileWhole(join(folder, name), watched(name, chunks(), options));
  }
  return files.map(({ name }) => name);
}

/** Makes a folder and those above it. @throws FettleError `out-not-a-folder` where a file has the name */
export async function makeFolder(folder: string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' || code === 'ENOTDIR')
      throw new FettleError('out-not-a-folder', `${folder}: a file has this name; outputs need a folder.`, {
        cause: error,
      });
    throw writeError(folder, error);
  }
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
