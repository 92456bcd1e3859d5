/** A file as pieces, made as they are asked for; it can be gone through again. Pieces are not used twice: keep them if you like. */
export class Chunks implements Iterable<Uint8Array<ArrayBuffer>> {
  readonly #make: () => Iterator<Uint8Array<ArrayBuffer>>;

  constructor(make: () => Iterator<Uint8Array<ArrayBuffer>>) {
    this.#make = make;
  }

  [Symbol.iterator](): Iterator<Uint8Array<ArrayBuffer>> {
    return this.#make();
  }
}

/** All pieces in one array. */
export function bytesOf(chunks: Iterable<Uint8Array>): Uint8Array<ArrayBuffer> {
  const pieces = Array.from(chunks);
  const whole = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length;
  }
  return whole;
}
