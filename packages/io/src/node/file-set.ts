import { mkdir, open, rename, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { FettleError } from '@fettle/geom';
import { FILE_LIST } from '../deliver/output-name.js';
import { jsonText } from '../report/results-json.js';
import { ByteHash } from './byte-hash.js';
import { writeError } from './file-error.js';
import type { FileSource } from './files.js';
import { modeOf, remove, stagingName, sweep } from './staging.js';
import { writeFlushed } from './write-whole.js';

/** A file of a set, as the list has it. */
export interface ListedFile {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
}

/**
 * Files that belong together, put into a folder together: each is written aside; when all are, they are renamed into place, and last of all
 * their list `files.json`, with the size and SHA-256 of each. The list of earlier files is taken away first: where there is one, all
 * files are what it says. Until then the folder is as it was.
 */
export class FileSet {
  readonly #folder: string;
  readonly #aside: string;
  readonly #files: ListedFile[] = [];

  #begun: Promise<void> | undefined;

  /** A set for a folder that is there. Nothing is done before the first file. */
  constructor(folder: string) {
    this.#folder = folder;
    this.#aside = join(folder, stagingName());
  }

  /** Takes away what dead runs have left in the folder, and makes the one to write aside in. */
  async #begin(): Promise<void> {
    await sweep(this.#folder);
    try {
      await mkdir(this.#aside, { mode: 0o700 });
    } catch (error) {
      throw writeError(this.#folder, error);
    }
  }

  /** Writes a file aside. @throws FettleError `file-not-written`, and what making the pieces throws */
  async add(name: string, chunks: Iterable<Uint8Array>): Promise<void> {
    this.#begun ??= this.#begin();
    await this.#begun;
    const target = join(this.#folder, name);
    const aside = join(this.#aside, String(this.#files.length));
    const hash = new ByteHash();
    function* hashed(): Iterable<Uint8Array> {
      for (const chunk of chunks) {
        hash.take(chunk);
        yield chunk;
      }
    }
    try {
      if (await isFolder(target)) throw Object.assign(new Error('a folder has this name'), { code: 'EISDIR' });
      await writeFlushed(aside, hashed(), await modeOf(target));
    } catch (error) {
      await remove(aside);
      throw writeError(target, error);
    }
    this.#files.push({ name, ...hash.end() });
  }

  /**
   * Puts all files in place.
   *
   * @param scan the file they were made from
   * @param others files of other sets that belong to this one
   * @throws FettleError `file-not-written`
   */
  async publish(scan?: FileSource, others: readonly ListedFile[] = []): Promise<void> {
    const named = this.#files.map(({ name }) => name);
    const files = [...this.#files, ...others].sort((a, b) => (a.name < b.name ? -1 : 1));
    await this.add(FILE_LIST, [new TextEncoder().encode(jsonText({ ...(scan && { scan }), files }))]);
    const list = join(this.#folder, FILE_LIST);
    await remove(list);
    for (const [f, name] of [...named, FILE_LIST].entries()) {
      try {
        await rename(join(this.#aside, String(f)), join(this.#folder, name));
      } catch (error) {
        const { message } = writeError(join(this.#folder, name), error) as Error;
        throw new FettleError(
          'file-not-written',
          `${message} Other files of this run may be in place already: until they are written again there is no ${FILE_LIST}.`,
          { cause: error },
        );
      }
    }
    await flushFolder(this.#folder);
    await this.drop();
  }

  /** Takes away what was written aside. */
  async drop(): Promise<void> {
    await remove(this.#aside);
  }
}

async function isFolder(path: string): Promise<boolean> {
  return (await stat(path).catch(() => undefined))?.isDirectory() ?? false;
}

/** Has the new names reach the disk, where folders can be flushed. */
async function flushFolder(folder: string): Promise<void> {
  try {
    const handle = await open(folder, 'r');
    await handle.sync().finally(() => handle.close());
  } catch {
    // Not on every system; the names then get there in their own time.
  }
}
