import { ByteWindow } from './byte-window.js';
import { excerpt } from './excerpt.js';
import { bytesAskedFor, PlyBinary, trianglesExpected } from './ply-binary.js';
import { PlyContents, roleOf } from './ply-contents.js';
import { type PlyHeader, parsePlyHeader } from './ply-header.js';
import { PlyText } from './ply-text.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import type { ScanSource } from './scan-source.js';
import { readLastLine } from './text-lines.js';

/**
 * PLY, text and binary of either byte order (G. Turk, "The PLY Polygon File Format", 1994; the type names with sizes came later).
 * Read are the coordinates, normals and colors of `vertex`, the polygons of `face` and the strips of `tristrips`; other elements and
 * properties are passed over. In text, a row is a line, as the format says: a row with too few values is refused, not filled from the next.
 * Errors: `bad-header`, `unknown-type`, `unknown-format`, `no-coordinates`, `too-large`, `cut-short`, `wrong-count`, `bad-number`,
 * `bad-face`, `index-out-of-range`, `record-too-long`.
 */
export class PlyReader implements FormatReader {
  readonly format = 'ply';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  #header: PlyHeader | undefined;
  #contents: PlyContents | undefined;
  #body: PlyBinary | PlyText | undefined;
  #size = 0;

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    this.#window = new ByteWindow(context.name, (have, last) => this.#consume(have, last), capacity);
  }

  get encoding(): ScanSource['encoding'] {
    if (this.#header?.format === 'ascii') return 'text';
    return this.#header?.format === 'binary_big_endian' ? 'binary big-endian' : 'binary';
  }

  push(bytes: Uint8Array): void {
    this.#size += bytes.length;
    this.#window.push(bytes);
  }

  end(): FileContents {
    this.#window.end();
    const body = this.#body!;
    if (body instanceof PlyText) {
      readLastLine(this.#window, this.#context, () => body.line);
      body.end();
    } else body.end(this.#size);
    return this.#contents!.take();
  }

  #consume(have: number, last: boolean): number {
    let at = 0;
    if (this.#header === undefined) {
      const header = parsePlyHeader(this.#window.bytes, have, last, this.#context.name);
      if (header === undefined) return 0;
      this.#begin(header);
      at = header.size;
    }
    return this.#body!.consume(this.#window, at, have);
  }

  #begin(header: PlyHeader): void {
    const { total } = this.#context;
    this.#header = header;
    const isBinary = header.format !== 'ascii';
    // Memory is taken at once only where the size of the file vouches for the counts.
    const isCovered = isBinary && total !== undefined && bytesAskedFor(header).bytes <= total;
    const triangles = isCovered ? trianglesExpected(header, total) : undefined;
    this.#contents = new PlyContents(header, this.#context, isCovered, triangles);
    for (const element of header.elements) {
      const namesVertices = element.properties.some((p) => p.countType !== undefined && /^vertex_ind/.test(p.name));
      if (!namesVertices || element.count === 0 || roleOf(element).role !== 'nothing') continue;
      this.#context.warnings.push({
        code: 'element-passed-over',
        message: `${this.#context.name}: element '${excerpt(element.name)}' names vertices, and is neither face nor tristrips: passed over.`,
      });
    }
    this.#window.isDirect = isBinary;
    this.#body = isBinary ? new PlyBinary(this.#contents) : new PlyText(this.#contents);
  }
}
