/** The byte order of a text in UTF-16, by the mark it begins with or by the zero beside its first character, which is ASCII; else undefined. */
export function utf16Order(head: Uint8Array): 'utf-16le' | 'utf-16be' | undefined {
  const [a, b] = head;
  if ((a === 0xff && b === 0xfe) || (a > 0 && a < 128 && b === 0)) return 'utf-16le';
  if ((a === 0xfe && b === 0xff) || (a === 0 && b > 0 && b < 128)) return 'utf-16be';
  return undefined;
}

/** A text in UTF-8 or UTF-16, without its mark. */
export const textOf = (bytes: Uint8Array): string => new TextDecoder(utf16Order(bytes) ?? 'utf-8').decode(bytes);

/** Passes text on in UTF-8, whichever of UTF-8 and UTF-16 it comes in. */
export class Utf8Text {
  readonly #push: (bytes: Uint8Array) => void;
  /** Bytes that wait until there are two of them. */
  #head: Uint8Array | undefined = new Uint8Array(0);
  #decoder: TextDecoder | undefined;

  constructor(push: (bytes: Uint8Array) => void) {
    this.#push = push;
  }

  push(bytes: Uint8Array): void {
    let piece = bytes;
    if (this.#head !== undefined) {
      piece = new Uint8Array(this.#head.length + bytes.length);
      piece.set(this.#head);
      piece.set(bytes, this.#head.length);
      if (piece.length < 2) {
        this.#head = piece;
        return;
      }
      this.#head = undefined;
      const order = utf16Order(piece);
      this.#decoder = order && new TextDecoder(order);
    }
    this.#push(this.#decoder === undefined ? piece : encoder.encode(this.#decoder.decode(piece, { stream: true })));
  }

  end(): void {
    if (this.#head !== undefined) this.#push(this.#head);
    else if (this.#decoder !== undefined) this.#push(encoder.encode(this.#decoder.decode()));
  }
}

const encoder = new TextEncoder();
