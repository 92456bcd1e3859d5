import { type FileHandle, open } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { detectFormat, HEAD } from '../read/detect-format.js';
import type { ReadyLines } from '../read/obj-stretch.js';
import { type ReadOptions, type readScan, readScanWith } from '../read/read-scan.js';
import type { ReadScan } from '../read/scan-source.js';
import type { ReportOptions } from '../report/html-report.js';
import { ByteHash } from './byte-hash.js';
import { fileError } from './file-error.js';
import { checkReading } from './memory.js';
import { ObjHelp } from './obj-help.js';
import { PagesAhead } from './pages-ahead.js';
import { fileName, openPipe } from './pipe.js';

export interface OpenOptions extends Omit<ReadOptions, 'size' | 'onProgress'> {
  /** Called after every piece read. */
  readonly onProgress?: (bytes: number, total: number) => void;
}

/** Bytes read at once. */
const PIECE = 1 << 20;

/**
 * Reads a scan from a file, a pipe, or standard input where the path is `-`; its name is the file's unless told otherwise. Errors: `file-missing`,
 * `file-unreadable`, `not-enough-memory`, `stdin-is-terminal`, and those of {@link readScan}.
 */
export const openScan = (path: string, options: OpenOptions = {}): Promise<ReadScan> => read(path, options);

/** What tells a scan file from every other: its name, size and SHA-256. */
export type FileSource = NonNullable<ReportOptions['source']>;

/** As {@link openScan}, with the size and hash of the very bytes the scan was read from, taken while they were read. */
export async function openScanWithSource(
  path: string,
  options: OpenOptions = {},
): Promise<{ readonly scan: ReadScan; readonly source: FileSource }> {
  const hash = new ByteHash();
  const scan = await read(path, options, hash);
  return { scan, source: { file: fileName(path), ...hash.end() } };
}

async function read(path: string, options: OpenOptions, hash?: ByteHash): Promise<ReadScan> {
  const named = { ...options, name: options.name ?? fileName(path) };
  try {
    const pipe = await openPipe(path, options.signal);
    if (pipe === undefined) return await readFile(path, named, hash);
    try {
      return await readPieces(piecesOfPipe(pipe), named, hash);
    } finally {
      pipe.destroy();
    }
  } catch (error) {
    // A pipe says only that it was ended, not why.
    options.signal?.throwIfAborted();
    throw fileError(path, error);
  }
}

async function readFile(path: string, options: OpenOptions, hash: ByteHash | undefined): Promise<ReadScan> {
  const file = await open(path, 'r');
  const ahead = new PagesAhead(file, 1.25 * PIECE);
  try {
    const stat = await file.stat();
    // A device has no size; some files say 0 and are made as they are read.
    const size = stat.isFile() ? stat.size : undefined;
    if (size === undefined || size === 0) return await readPieces(piecesInTurn(file), options, hash, size);
    checkReading(options.name ?? path, size);
    // What the second thread reads does not pass by here to be hashed.
    const all = hash ? piecesOf(file, 0, () => size, ahead) : pieces(file, size, ahead);
    return await readPieces(all, options, hash, size, ahead);
  } finally {
    await ahead.end();
    await file.close();
  }
}

type Pieces = AsyncGenerator<Uint8Array | ReadyLines, void, void>;

/** Reads a scan from pieces, all of which are hashed, whether the reader wants them or has enough before their end. */
async function readPieces(
  all: Pieces,
  { onProgress, ...options }: OpenOptions,
  hash: ByteHash | undefined,
  size?: number,
  ahead?: PagesAhead,
): Promise<ReadScan> {
  async function* hashed(): Pieces {
    for (let { done, value } = await all.next(); !done; { done, value } = await all.next()) {
      hash!.take(value as Uint8Array);
      yield value as Uint8Array;
    }
  }
  const how: ReadOptions = {
    ...options,
    ...(size !== undefined && { size }),
    ...(onProgress && { onProgress: (bytes: number) => onProgress(bytes, size ?? bytes) }),
  };
  try {
    const scan = await readScanWith([], how, { pieces: hash ? hashed() : all, ...(ahead && { ahead }) });
    if (hash)
      for await (const piece of all) {
        options.signal?.throwIfAborted();
        hash.take(piece as Uint8Array);
      }
    return scan;
  } finally {
    await all.return();
  }
}

async function* piecesOfPipe(pipe: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array, void, void> {
  yield* pipe;
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
