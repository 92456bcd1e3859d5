import { FettleError, type Warning } from '@fettle/geom';
import { type ByteSource, chunksOf, sizeOfSource } from './byte-chunks.js';
import { detectFormat, HEAD } from './detect-format.js';
import { finishScan } from './finish-scan.js';
import type { MemoryAhead } from './fresh-memory.js';
import { GlbReader } from './glb.js';
import { gunzip, isGzip } from './gunzip.js';
import { HeadBuffer } from './head-buffer.js';
import { ObjReader } from './obj.js';
import type { ReadyLines } from './obj-stretch.js';
import { OffReader } from './off.js';
import { PcdReader } from './pcd.js';
import { PlyReader } from './ply.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import type { ReadScan } from './scan-source.js';
import { StlBinaryReader } from './stl-binary.js';
import { StlTextReader } from './stl-text.js';
import { ThreeMfReader } from './threemf.js';
import { type LengthUnit, millimetersIn } from './units.js';
import { UnpackingBudget } from './unpacking-budget.js';
import { XyzReader } from './xyz.js';

export interface ReadOptions {
  /** Opens every message about the scan; default: the file's name where the source is one, else 'scan'. */
  readonly name?: string;
  /** Unit of the file's coordinates; default: what the file says, else mm, with a warning. */
  readonly units?: LengthUnit;
  /** Size of the source in bytes where the source does not know it itself: for progress, and to take memory once. */
  readonly size?: number;
  /** Called after every piece read. `total` where known. */
  readonly onProgress?: (bytes: number, total?: number) => void;
  /** Calls the reading off: the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal;
  /** Take what is whole of a file that ends early or goes on behind its counts, and warn, instead of refusing it. Default false. */
  readonly keepWhole?: boolean;
  /**
   * Bytes a compressed file (gzip, 3MF) may unpack to. Default: a hundred times its packed size and no less than 67,108,864, which no scan comes
   * near; a small file made to unpack without end does.
   */
  readonly unpackedMost?: number;
  /**
   * Whether corners of STL triangles at the very same place become one point. Default true: without it a scan has three points a triangle and no
   * triangle has a neighbor, which is little use but shows what is in the file, and is read in half the time at three times the memory.
   */
  readonly merge?: boolean;
}

/**
 * Reads a scan: PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points, told by content, compressed with gzip or not, from a stream in pieces of any size. Memory is bounded by the result, not by the
 * file. Points come in mm as doubles, bit for bit what the file's digits say (times the unit); polygons are cut into triangles;
 * points with a coordinate that is no number are dropped with their triangles, and a warning counts them. A scan of one point is
 * a scan. Warnings stand in `source.warnings`.
 *
 * Errors, each a FettleError whose message opens with the name: `empty-file`, `not-a-scan`, `cut-short`, `wrong-count`, `no-points`,
 * `not-finite`, `too-large`, `bad-units`, `bad-compression`, and those the readers of the formats list.
 */
export const readScan = (source: ByteSource, options: ReadOptions = {}): Promise<ReadScan> =>
  readScanWith(source, options, {});

/** A piece of a file, or what it holds. */
type Piece = Uint8Array | ReadyLines;

/** What a platform does for a reading beyond giving bytes. */
export interface Platform {
  readonly ahead?: MemoryAhead;
  /** Read instead of the source, whose lines they may hold ready where it is an OBJ file. */
  readonly pieces?: AsyncGenerator<Piece, void, void>;
}

/** {@link readScan}, with what the platform can do for it beyond giving bytes. */
export async function readScanWith(
  source: ByteSource,
  options: ReadOptions,
  { ahead, pieces }: Platform,
): Promise<ReadScan> {
  const { units, onProgress, signal } = options;
  const name = options.name ?? (source as { name?: string }).name ?? 'scan';
  if (units !== undefined && !Object.hasOwn(millimetersIn, units)) {
    throw refusal(name, 'bad-units', `unknown unit '${units}'; known are ${Object.keys(millimetersIn).join(', ')}.`);
  }
  const total = options.size ?? sizeOfSource(source);
  const warnings: Warning[] = [];
  const context: ReadContext = {
    name,
    keepWhole: options.keepWhole ?? false,
    merge: options.merge ?? true,
    warnings,
    ...(options.unpackedMost !== undefined && { unpackedMost: options.unpackedMost }),
    ...(ahead && { ahead }),
    ...(total !== undefined && { total }),
  };
  let bytes = 0;
  async function* watched(): AsyncGenerator<Piece, void, void> {
    signal?.throwIfAborted();
    for await (const piece of pieces ?? chunksOf(source)) {
      signal?.throwIfAborted();
      bytes += piece instanceof Uint8Array ? piece.length : piece.to - piece.from;
      yield piece;
      onProgress?.(bytes, total);
    }
    signal?.throwIfAborted();
  }
  try {
    const { reader, contents, compression } = await parse(watched(), context);
    const unit = units ?? contents.unit ?? 'mm';
    const unitFrom = units !== undefined ? 'caller' : contents.unit !== undefined ? 'file' : 'assumed';
    if (unitFrom === 'assumed') {
      warnings.push({
        code: 'units-assumed',
        message: `${name}: the file does not say its unit of length: mm assumed.`,
      });
    } else if (units !== undefined && contents.unit !== undefined && contents.unit !== units) {
      warnings.push({
        code: 'units-differ',
        message: `${name}: the file says it is in ${contents.unit}; read in ${units} as asked.`,
      });
    }
    const finished = finishScan(contents, unit, context);
    const { format, encoding } = reader;
    return {
      ...finished,
      units: 'mm',
      name,
      source: { format, encoding, ...(compression && { compression }), bytes, unit, unitFrom, warnings },
    };
  } catch (error) {
    if (error instanceof RangeError && !(error instanceof FettleError)) {
      throw refusal(
        name,
        'too-large',
        'the scan is larger than this machine can hold in memory. Split or thin it.',
        error,
      );
    }
    throw error;
  }
}

interface Parsed {
  readonly reader: FormatReader;
  readonly contents: FileContents;
  readonly compression?: 'gzip';
}

/** Finds the format and has its reader read the pieces, decompressed where need be. */
async function parse(pieces: AsyncGenerator<Piece>, context: ReadContext): Promise<Parsed> {
  const head = new HeadBuffer(HEAD);
  let reader: FormatReader | undefined;
  try {
    for (let { done, value } = await pieces.next(); !done; { done, value } = await pieces.next()) {
      if (!(value instanceof Uint8Array)) {
        reader!.takeReady!(value as ReadyLines);
        continue;
      }
      if (reader !== undefined) {
        reader.push(value);
        continue;
      }
      const isEnough = head.add(value);
      if (isGzip(head.bytes) && context.compression === undefined) return await parseGzip(head.bytes, pieces, context);
      if (!isEnough) continue;
      reader = readerFor(head.bytes, false, context);
      reader?.push(withoutMark(head.bytes));
    }
  } finally {
    // Lets go of the source where it was not read to its end.
    await pieces.return(undefined);
  }
  if (reader === undefined) {
    reader = readerFor(head.bytes, true, context)!;
    reader.push(withoutMark(head.bytes));
  }
  return { reader, contents: await reader.end() };
}

/** Text may begin with the mark of UTF-8, which says nothing; no binary scan begins with these three bytes. */
const withoutMark = (head: Uint8Array): Uint8Array =>
  head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? head.subarray(3) : head;

async function parseGzip(head: Uint8Array, rest: AsyncGenerator<Piece>, context: ReadContext): Promise<Parsed> {
  const { name, keepWhole, warnings, unpackedMost } = context;
  async function* all(): AsyncGenerator<Uint8Array, void, void> {
    yield head;
    // Lines are ready of OBJ files alone, which these are not yet.
    for await (const piece of rest) yield piece as Uint8Array;
  }
  async function* whole(): AsyncGenerator<Uint8Array, void, void> {
    try {
      yield* gunzip(all(), name, new UnpackingBudget(name, 0, unpackedMost));
    } catch (error) {
      if (!keepWhole || !(error instanceof FettleError && error.code === 'bad-compression')) throw error;
      warnings.push({ code: error.code, message: error.message });
    }
  }
  // How much comes out of it nobody knows.
  const { total: _, ...unsized } = context;
  return { ...(await parse(whole(), { ...unsized, compression: 'gzip' })), compression: 'gzip' };
}

function readerFor(head: Uint8Array, last: boolean, context: ReadContext): FormatReader | undefined {
  switch (detectFormat(head, context.total, last, context.name)) {
    case 'ply':
      return new PlyReader(context);
    case 'obj':
      return new ObjReader(context);
    case 'stl-binary':
      return new StlBinaryReader(context);
    case 'stl-text':
      return new StlTextReader(context);
    case 'xyz':
      return new XyzReader(context);
    case 'off':
      return new OffReader(context);
    case 'pcd':
      return new PcdReader(context);
    case 'glb':
      return new GlbReader(context);
    case '3mf':
      return new ThreeMfReader(context);
    default:
      return undefined;
  }
}
