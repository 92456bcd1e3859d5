/** The first bytes of a file, gathered until they tell its format. Grows by doubling; asked again only when it has doubled. */
export class HeadBuffer {
  #bytes = new Uint8Array(0);
  #length = 0;
  #enough: number;

  /** @param enough bytes worth asking about */
  constructor(enough: number) {
    this.#enough = enough;
  }

  get bytes(): Uint8Array {
    return this.#bytes.subarray(0, this.#length);
  }

  /** Adds a piece; gives whether to ask. */
  add(piece: Uint8Array): boolean {
    const length = this.#length + piece.length;
    if (length > this.#bytes.length) {
      const larger = new Uint8Array(Math.max(length, 2 * this.#bytes.length));
      larger.set(this.bytes);
      this.#bytes = larger;
    }
    this.#bytes.set(piece, this.#length);
    this.#length = length;
    if (length < this.#enough) return false;
    this.#enough = 2 * length;
    return true;
  }
}
