import { randomBytes } from 'node:crypto';
import { type FileHandle, open, rename, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { type ReadOptions, type readScan, readScanWith } from '../read/read-scan.js';
import type { ReadScan } from '../read/scan-source.js';
import { fileError, writeError } from './file-error.js';
import { PagesAhead } from './pages-ahead.js';

export interface OpenOptions extends Omit<ReadOptions, 'size' | 'onProgress'> {
  /** Called after every piece read. */
  readonly onProgress?: (bytes: number, total: number) => void;
}

/** Bytes read at once. */
const PIECE = 1 << 20;

/**
 * Reads a scan from a file; its name is the file's unless told otherwise. While a piece is parsed the next is read, into one of two
 * buffers used in turn. Errors: `file-missing`, `file-unreadable`, and those of {@link readScan}.
 */
export async function openScan(path: string, options: OpenOptions = {}): Promise<ReadScan> {
  const { onProgress } = options;
  try {
    const file = await open(path, 'r');
    try {
      const stat = await file.stat();
      // A pipe has no size.
      const size = stat.isFile() ? stat.size : undefined;
      const { onProgress: _, ...rest } = options;
      const ahead = new PagesAhead(file, 1.25 * PIECE);
      return await readScanWith(
        pieces(file, ahead),
        {
          ...rest,
          name: options.name ?? basename(path),
          ...(size !== undefined && { size }),
          ...(onProgress && { onProgress: (bytes: number) => onProgress(bytes, size ?? bytes) }),
        },
        size === undefined ? {} : { showFresh: ahead.show },
      );
    } finally {
      await file.close();
    }
  } catch (error) {
    throw fileError(path, error);
  }
}

async function* pieces(file: FileHandle, ahead: PagesAhead): AsyncGenerator<Uint8Array, void, void> {
  const buffers = [new Uint8Array(PIECE), new Uint8Array(PIECE)];
  let turn = 0;
  let reading = file.read(buffers[turn], 0, PIECE, null);
  try {
    for (;;) {
      const { bytesRead } = await reading;
      if (bytesRead === 0) return;
      const piece = buffers[turn].subarray(0, bytesRead);
      turn = 1 - turn;
      reading = file.read(buffers[turn], 0, PIECE, null);
      await ahead.reach();
      yield piece;
    }
  } finally {
    await ahead.end();
    // A read under way must end before its file is closed.
    await reading.catch(() => undefined);
  }
}

/**
 * Writes a file whole or not at all: the pieces go into a file beside the target, which is flushed to the disk and renamed into
 * place. On any failure the target stays as it was and the file beside it is removed.
 * Errors: `file-not-written`, saying why, and what making the pieces throws.
 */
export async function writeFileWhole(
  path: string,
  chunks: Iterable<Uint8Array> | AsyncIterable<Uint8Array>,
): Promise<void> {
  const beside = join(dirname(path), `.${basename(path)}.${randomBytes(6).toString('hex')}.part`);
  try {
    const file = await open(beside, 'wx');
    try {
      for await (const chunk of chunks) await file.writeFile(chunk);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(beside, path);
  } catch (error) {
    await rm(beside, { force: true });
    throw writeError(path, error);
  }
}
