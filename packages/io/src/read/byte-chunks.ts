import { FettleError } from '@fettle/geom';

/** What a scan can be read from. Pieces of a stream may be of any size and cut anywhere. */
export type ByteSource =
  | ReadableStream<Uint8Array>
  | AsyncIterable<Uint8Array>
  | Iterable<Uint8Array>
  | Blob
  | ArrayBuffer
  | Uint8Array;

/** Bytes given on at once of what is already in memory: often enough to report progress and to be called off. */
const PIECE = 1 << 22;

/** Size in bytes where the source knows it. */
export function sizeOfSource(source: ByteSource): number | undefined {
  if (source instanceof Uint8Array || source instanceof ArrayBuffer) return source.byteLength;
  return source instanceof Blob ? source.size : undefined;
}

/**
 * The source as pieces. A piece is good until the next is asked for. Leaving the loop early lets go of the source: a stream is
 * canceled, an iterator returned.
 */
export async function* chunksOf(source: ByteSource): AsyncGenerator<Uint8Array, void, void> {
  if (typeof source !== 'object' || source === null) throw noBytes(source);
  if (source instanceof Uint8Array || source instanceof ArrayBuffer) {
    const whole = new Uint8Array(
      source instanceof ArrayBuffer ? source : source.buffer,
      source instanceof ArrayBuffer ? 0 : source.byteOffset,
      source.byteLength,
    );
    for (let at = 0; at < whole.length; at += PIECE) {
      if (at > 0) await turn();
      yield whole.subarray(at, at + PIECE);
    }
    return;
  }
  if (source instanceof Blob) return yield* chunksOf(source.stream() as ReadableStream<Uint8Array>);
  if (typeof (source as ReadableStream).getReader === 'function') {
    const reader = (source as ReadableStream<Uint8Array>).getReader();
    let isDone = false;
    try {
      for (;;) {
        const { done, value } = await reader.read();
        isDone = done;
        if (done) return;
        yield plain(value);
      }
    } finally {
      if (!isDone) await reader.cancel().catch(() => undefined);
      reader.releaseLock();
    }
  }
  for await (const piece of source as AsyncIterable<Uint8Array> | Iterable<Uint8Array>) yield plain(piece);
}

/** A piece as a Uint8Array proper: subclasses such as Node's Buffer make every place that reads bytes handle two kinds of array. */
function plain(piece: Uint8Array): Uint8Array {
  if (!ArrayBuffer.isView(piece)) throw noBytes(piece);
  return piece.constructor === Uint8Array ? piece : new Uint8Array(piece.buffer, piece.byteOffset, piece.byteLength);
}

/** Lets others run: events, and whoever calls the reading off. */
const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

function noBytes(found: unknown): FettleError {
  const advice =
    typeof found === 'string'
      ? 'A path is opened by openScan of @fettle/io/node.'
      : 'Give a stream or list of Uint8Array, a Blob, an ArrayBuffer or a Uint8Array.';
  return new FettleError(
    'source-no-bytes',
    `A scan is read from bytes, not from ${typeof found === 'string' ? 'a string' : String(found)}. ${advice}`,
  );
}
