import { type BigIntStats, fstatSync } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename, dirname } from 'node:path';
import { FettleError } from '@fettle/geom';
import { isStdin } from './pipe.js';

/** A file something is made from: what it is to the person, and its path. */
export interface InputFile {
  readonly what: 'plan' | 'scan';
  readonly path: string;
}

/** Bytes of a name that every common file system takes. */
const LONGEST_NAME = 255;

/**
 * Makes sure, before anything is made, that no output takes the place of what it is made from: by whatever name or link the two go,
 * and where the names differ in small and capital letters alone, which many file systems hold for one name.
 *
 * @param outputs paths of files that are going to be written
 * @throws FettleError `output-is-input`, `name-too-long`
 */
export async function checkOutputs(outputs: readonly string[], inputs: readonly InputFile[]): Promise<void> {
  const taken = new Map<string, InputFile>();
  for (const input of inputs) for (const key of await keysOf(input.path)) taken.set(key, input);
  for (const output of outputs) {
    const bytes = Buffer.byteLength(basename(output));
    if (bytes > LONGEST_NAME)
      throw new FettleError(
        'name-too-long',
        `${output}: this name would have ${bytes} bytes, and file systems take ${LONGEST_NAME}. Give the step a shorter id.`,
      );
    for (const key of await keysOf(output)) {
      const input = taken.get(key);
      if (input === undefined) continue;
      throw new FettleError(
        'output-is-input',
        `${output} would take the place of the ${input.what} ${input.path}. Nothing was measured or written: choose another ` +
          'folder for the outputs.',
      );
    }
  }
}

/** What two paths of one file have in common: the file itself where there is one, its folder and folded name where there is a folder. */
async function keysOf(path: string): Promise<string[]> {
  const [file, folder] = await Promise.all([identity(path), identity(dirname(path))]);
  const name = basename(path).normalize('NFC').toLowerCase();
  return [...(file === undefined ? [] : [file]), ...(folder === undefined ? [] : [`${folder}/${name}`])];
}

/** Device and number of a file, links followed; undefined where there is none or it cannot be told. */
async function identity(path: string): Promise<string | undefined> {
  try {
    const { dev, ino }: BigIntStats = isStdin(path)
      ? fstatSync(0, { bigint: true })
      : await stat(path, { bigint: true });
    return `${dev}:${ino}`;
  } catch {
    return undefined;
  }
}
