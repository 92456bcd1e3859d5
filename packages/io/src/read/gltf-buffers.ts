import { type Complain, entryOf, type Fields, shown } from './gltf-fields.js';

const DATA_URI = /^data:[a-z0-9.+/-]*;base64,/i;

/** The buffers of a glTF binary: its own chunk, and what its description holds in base 64. */
export class GltfBuffers {
  readonly #document: Fields;
  readonly #binary: DataView;
  readonly #complain: Complain;
  readonly #decoded = new Map<unknown, DataView>();

  constructor(document: Fields, binary: DataView, complain: Complain) {
    this.#document = document;
    this.#binary = binary;
    this.#complain = complain;
  }

  /** The bytes of a buffer, by an index that the document gives. Errors: `bad-model`, `not-read` for another file's. */
  view(index: unknown): DataView {
    const known = this.#decoded.get(index);
    if (known !== undefined) return known;
    const { uri } = entryOf(this.#document, 'buffers', index, this.#complain);
    if (uri === undefined && index === 0) return this.#binary;
    const head = typeof uri === 'string' ? DATA_URI.exec(uri.slice(0, 200))?.[0] : undefined;
    if (head === undefined) {
      return this.#complain('its data stand in another file; a glTF binary holds its own', 'not-read');
    }
    const view = this.#decode((uri as string).slice(head.length), index);
    this.#decoded.set(index, view);
    return view;
  }

  #decode(base64: string, index: unknown): DataView {
    let text: string;
    try {
      text = atob(base64);
    } catch {
      return this.#complain(`buffer ${shown(index)} is no base 64`);
    }
    const bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
    return new DataView(bytes.buffer);
  }
}
