import { randomBytes } from 'node:crypto';
import { type FileHandle, open, rename, rm } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { detectFormat, HEAD } from '../read/detect-format.js';
import type { ReadyLines } from '../read/obj-stretch.js';
import { type ReadOptions, type readScan, readScanWith } from '../read/read-scan.js';
import type { ReadScan } from '../read/scan-source.js';
import { fileError, writeError } from './file-error.js';
import { ObjHelp } from './obj-help.js';
import { PagesAhead } from './pages-ahead.js';

export interface OpenOptions extends Omit<ReadOptions, 'size' | 'onProgress'> {
  /** Called after every piece read. */
  readonly onProgress?: (bytes: number, total: number) => void;
}

/** Bytes read at once. */
const PIECE = 1 << 20;

/**
 * Reads a scan from a file; its name is the file's unless told otherwise. Errors: `file-missing`, `file-unreadable`, and those of {@link readScan}.
 */
export async function openScan(path: string, options: OpenOptions = {}): Promise<ReadScan> {
  const { onProgress } = options;
  try {
    const file = await open(path, 'r');
    const ahead = new PagesAhead(file, 1.25 * PIECE);
    try {
      const stat = await file.stat();
      // A pipe has no size; some files say 0 and are made as they are read.
      const size = stat.isFile() ? stat.size : undefined;
      const { onProgress: _, ...rest } = options;
      return await readScanWith(
        [],
        {
          ...rest,
          name: options.name ?? basename(path),
          ...(size !== undefined && { size }),
          ...(onProgress && { onProgress: (bytes: number) => onProgress(bytes, size ?? bytes) }),
        },
        size === undefined || size === 0
          ? { pieces: piecesInTurn(file) }
          : { pieces: pieces(file, size, ahead), ahead },
      );
    } finally {
      await ahead.end();
      await file.close();
    }
  } catch (error) {
    throw fileError(path, error);
  }
}

/** A file of unknown size, as it comes. */
async function* piecesInTurn(file: FileHandle): AsyncGenerator<Uint8Array, void, void> {
  const piece = new Uint8Array(PIECE);
  for (;;) {
    const { bytesRead } = await file.read(piece, 0, PIECE, null);
    if (bytesRead === 0) return;
    yield piece.subarray(0, bytesRead);
  }
}

/** A file of `size` bytes, parts of it read by a second thread where that pays. */
async function* pieces(
  file: FileHandle,
  size: number,
  ahead: PagesAhead,
): AsyncGenerator<Uint8Array | ReadyLines, void, void> {
  const head = new Uint8Array(Math.min(HEAD, size));
  await file.read(head, 0, head.length, 0);
  if (!ObjHelp.pays(size, availableParallelism()) || !isObj(head, size)) {
    yield* piecesOf(file, 0, () => size, ahead);
    return;
  }
  const help = new ObjHelp(file.fd, size);
  try {
    yield* piecesWithHelp(file, size, ahead, help);
  } finally {
    await help.end();
  }
}

/** Whether a file beginning so is OBJ; what is wrong with it is for the reader to say. */
function isObj(head: Uint8Array, size: number): boolean {
  try {
    return detectFormat(head, size, false, '') === 'obj';
  } catch {
    return false;
  }
}

/** The file up to where the stretches of the other thread begin, then what that has read, and whatever it has left out. */
async function* piecesWithHelp(
  file: FileHandle,
  size: number,
  ahead: PagesAhead,
  help: ObjHelp,
): AsyncGenerator<Uint8Array | ReadyLines, void, void> {
  let at = 0;
  const claim = () => {
    if (help.claim()) at = Math.min(at + help.stretch, size);
    return at;
  };
  yield* piecesOf(file, 0, claim, ahead);
  for (const lines of await help.ready()) {
    if (at < lines.from) yield* piecesOf(file, at, () => lines.from, ahead);
    yield lines;
    at = lines.to;
  }
  if (at < size) yield* piecesOf(file, at, () => size, ahead);
}

/**
 * The bytes of a file from `from` up to what `end` says where they come to the end it said last. While a piece is used the next is
 * read, into one of two buffers in turn.
 */
async function* piecesOf(
  file: FileHandle,
  from: number,
  end: () => number,
  ahead: PagesAhead,
): AsyncGenerator<Uint8Array, void, void> {
  const buffers = [new Uint8Array(PIECE), new Uint8Array(PIECE)];
  let turn = 0;
  let at = from;
  let to = from;
  const read = () => {
    if (at >= to) to = end();
    return file.read(buffers[turn], 0, Math.max(Math.min(PIECE, to - at), 0), at);
  };
  let reading = read();
  try {
    for (;;) {
      const { bytesRead } = await reading;
      if (bytesRead === 0) return;
      const piece = buffers[turn].subarray(0, bytesRead);
      turn = 1 - turn;
      at += bytesRead;
      reading = read();
      await ahead.reach();
      yield piece;
    }
  } finally {
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
