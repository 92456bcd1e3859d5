import { countText } from '../text/number-text.js';
import { refusal } from './refusal.js';

/** Bytes kept readable behind the last one, so that a parser may load words without asking whether they are there. */
const PAD = 16;
const LONGEST = 1 << 24;
/** Bytes looked at together with the record that waits, to find its end. */
const SHORT = 1 << 12;

/**
 * A file passes through this window: pieces cut anywhere go in, whole records or lines come out. The consumer is shown
 * the bytes in [0, have) and answers how many it has used; the rest waits for more. Copying costs a few per cent of
 * parsing text and buys parsers one buffer that never changes, no seams, and a few bytes of slack at the end. Binary records,
 * where it costs a tenth, are shown in the pieces themselves, but for the one that a seam cuts.
 */
export class ByteWindow {
  /** The window; `have` bytes of it are the file's, the rest is slack. Replaced when it grows. */
  bytes: Uint8Array;
  view: DataView;
  #have = 0;
  #capacity: number;
  readonly #consume: (have: number, last: boolean) => number;
  readonly #name: string;
  /** Whether pieces are shown where they are, for consumers that read no byte behind the last: records, not lines. */
  isDirect = false;

  /**
   * @param consume uses bytes of the window from its start, gives how many; 0 asks for a larger window.
   * @param capacity bytes; 64 to 256 KiB stay in a core's second cache and measured alike, 512 KiB takes 4 % longer, 4 MiB 10 %.
   */
  constructor(name: string, consume: (have: number, last: boolean) => number, capacity = 1 << 18) {
    this.#name = name;
    this.#consume = consume;
    this.#capacity = capacity;
    this.bytes = new Uint8Array(capacity + PAD);
    this.view = new DataView(this.bytes.buffer);
  }

  push(piece: Uint8Array): void {
    let at = 0;
    while (at < piece.length) {
      if (this.isDirect && piece.length - at >= SHORT) {
        const used = this.#have === 0 ? this.#showWhere(piece, at) : this.#endRecord(piece, at);
        at += used;
        if (used > 0) continue;
      }
      if (this.#have === this.#capacity) this.#use(false);
      const n = Math.min(this.#capacity - this.#have, piece.length - at);
      this.bytes.set(n === piece.length ? piece : piece.subarray(at, at + n), this.#have);
      this.#have += n;
      at += n;
    }
  }

  /** No more will come: shows the consumer all that waits; gives how many bytes it left. */
  end(): number {
    this.#use(true);
    return this.#have;
  }

  /** Adds one byte at the very end, where a text lacks its last line end. */
  terminate(byte: number): void {
    if (this.#have === this.#capacity) this.#grow();
    this.bytes[this.#have++] = byte;
  }

  /** The last byte that waits, or -1. */
  get lastByte(): number {
    return this.#have === 0 ? -1 : this.bytes[this.#have - 1];
  }

  /** Shows the consumer the piece from `at` on, where it is; gives how many bytes it used. */
  #showWhere(piece: Uint8Array, at: number): number {
    const { bytes, view } = this;
    this.bytes = piece.subarray(at, at + this.#capacity);
    this.view = new DataView(piece.buffer, piece.byteOffset + at, this.bytes.length);
    const used = this.#consume(this.bytes.length, false);
    this.bytes = bytes;
    this.view = view;
    return used;
  }

  /** Shows the consumer what waits and a little of the piece behind it; gives how many bytes of the piece were used or wait too. */
  #endRecord(piece: Uint8Array, at: number): number {
    const waiting = this.#have;
    if (waiting + SHORT > this.#capacity) return 0;
    this.bytes.set(piece.subarray(at, at + SHORT), waiting);
    const used = this.#consume(waiting + SHORT, false);
    if (used >= waiting) {
      // What is left of the window is the piece's own.
      this.#have = 0;
      return used - waiting;
    }
    this.bytes.copyWithin(0, used, waiting + SHORT);
    this.#have = waiting + SHORT - used;
    return SHORT;
  }

  #use(last: boolean): void {
    const used = this.#consume(this.#have, last);
    if (used > 0) {
      this.bytes.copyWithin(0, used, this.#have);
      this.#have -= used;
    } else if (!last) this.#grow();
  }

  #grow(): void {
    if (this.#capacity >= LONGEST) {
      throw refusal(
        this.#name,
        'record-too-long',
        `one line or record is longer than ${countText(LONGEST)} bytes: no scan is written so. Export it again.`,
      );
    }
    this.#capacity *= 2;
    const larger = new Uint8Array(this.#capacity + PAD);
    larger.set(this.bytes.subarray(0, this.#have));
    this.bytes = larger;
    this.view = new DataView(larger.buffer);
  }
}
