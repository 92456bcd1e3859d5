import { createHash } from 'node:crypto';

/** How many bytes went by, and their SHA-256. */
export class ByteHash {
  readonly #hash = createHash('sha256');
  #bytes = 0;

  take(piece: Uint8Array): void {
    this.#hash.update(piece);
    this.#bytes += piece.length;
  }

  /** Of all that was taken; nothing can be taken afterwards. */
  end(): { readonly bytes: number; readonly sha256: string } {
    return { bytes: this.#bytes, sha256: this.#hash.digest('hex') };
  }
}
