import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { asOctets } from './color-values.js';
import { Column } from './column.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { warnOfLacking } from './lacking-faces.js';
import { offKeyword } from './off-keyword.js';
import { PolygonList } from './polygons.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { endOfLines, isBlank, nextLine, readLastLine } from './text-lines.js';
import { type LengthUnit, unitNamedIn } from './units.js';

const HASH = 35;

/**
 * OFF (object file format, as text): a keyword, the counts of vertices, faces and edges, a line a vertex and a line a face. Of the
 * vertices coordinates, normals (N) and colors (C) are read; texture coordinates and colors of faces are passed over.
 * Errors: `bad-header`, `not-read` (binary, four and more dimensions), `wrong-count`, `bad-number`, `bad-face`, `index-out-of-range`,
 * `cut-short`, `too-large`, `record-too-long`.
 */
export class OffReader implements FormatReader {
  readonly format = 'off';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  readonly #positions = new Column(Float64Array);
  readonly #normals = new Column(Float32Array);
  readonly #colors = new Column(Float32Array);
  readonly #triangles = new Column(Uint32Array);
  readonly #polygons = new PolygonList();
  #keyword: RegExpExecArray | undefined;
  /** Vertices and faces the file counts; undefined until they are read. */
  #counts: readonly [vertices: number, faces: number] | undefined;
  #vertices = 0;
  #faces = 0;
  #lacking = 0;
  #isBehind = false;
  #line = 0;
  #unit: LengthUnit | undefined;
  /** Numbers of one line. */
  #row = new Float64Array(64);

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    this.#window = new ByteWindow(context.name, (have) => this.#consume(have), capacity);
  }

  push(bytes: Uint8Array): void {
    this.#window.push(bytes);
  }

  end(): FileContents {
    const { name, keepWhole, warnings } = this.#context;
    this.#window.end();
    readLastLine(this.#window, this.#context, () => this.#line);
    const [vertices, faces] = this.#counts ?? this.#bad('bad-header', 'the file ends without its counts', this.#line);
    if (this.#vertices < vertices || this.#faces < faces) {
      const isVertex = this.#vertices < vertices;
      const [kind, read, of] = isVertex ? ['vertex', this.#vertices, vertices] : ['face', this.#faces, faces];
      const which = `${kind} ${countText((read as number) + 1)} of ${countText(of as number)} cut short: the file ends after line ${countText(this.#line)}`;
      if (!keepWhole) throw refusal(name, 'cut-short', `${which}. Export it again.`);
      warnings.push({ code: 'cut-short', message: `${name}: ${which}.` });
    }
    if (this.#isBehind) {
      const counts = `${counted(vertices, 'vertex', 'vertices')}, ${counted(faces, 'face')}`;
      warnings.push({
        code: 'wrong-count',
        message: `${name}: lines behind what its header counts (${counts}) left out.`,
      });
    }
    warnOfLacking(this.#lacking, this.#context);
    const triangles = this.#triangles.take();
    return {
      positions: this.#positions.take(),
      ...(triangles.length > 0 && { triangles, polygons: this.#polygons }),
      ...(this.#normals.length > 0 && { normals: this.#normals.take() }),
      ...(this.#colors.length > 0 && { colors: asOctets(this.#colors.take()) }),
      ...(this.#unit && { unit: this.#unit }),
    };
  }

  #consume(have: number): number {
    const { bytes } = this.#window;
    const to = endOfLines(bytes, have);
    for (let i = 0; i < to; ) {
      const next = nextLine(bytes, i);
      this.#line++;
      while (isBlank(bytes[i])) i++;
      if (bytes[i] === HASH) this.#unit ??= unitNamedIn(textOf(bytes, i, next));
      else if (bytes[i] !== 10 && bytes[i] !== 13) this.#takeLine(bytes, i, next);
      i = next;
    }
    return to;
  }

  #takeLine(bytes: Uint8Array, at: number, next: number): void {
    if (this.#keyword === undefined) this.#takeKeyword(bytes, at, next);
    else if (this.#counts === undefined) this.#takeCounts(this.#readRow(bytes, at));
    else if (this.#vertices < this.#counts[0]) this.#takeVertex(this.#readRow(bytes, at));
    else if (this.#faces < this.#counts[1]) this.#takeFace(bytes, at);
    else this.#isBehind = true;
  }

  #takeKeyword(bytes: Uint8Array, at: number, next: number): void {
    const [word, ...rest] = textOf(bytes, at, next).split('#', 1)[0].trim().split(/\s+/, 5);
    const keyword = offKeyword.exec(word) ?? this.#bad('bad-header', `'${excerpt(word)}' is no keyword of OFF`);
    if (keyword[4] || keyword[5]) this.#bad('not-read', `vertices of '${word}' have more than three coordinates`);
    if (rest[0] === 'BINARY') this.#bad('not-read', 'binary OFF is not read: export it as text');
    this.#keyword = keyword;
    if (rest.length > 0) this.#takeCounts(this.#readRow(bytes, at + word.length));
  }

  #takeCounts(n: number): void {
    const counts = this.#row.subarray(0, Math.min(n, 3));
    if (n < 2 || n > 3 || !counts.every((c) => Number.isSafeInteger(c) && c >= 0))
      this.#bad('bad-header', 'the keyword should be followed by the counts of vertices, faces and edges');
    if (counts[0] > 0xffffffff) this.#bad('too-large', 'more vertices than indices reach, 4,294,967,295');
    this.#counts = [counts[0], counts[1]];
  }

  #takeVertex(n: number): void {
    const [, texture, color, normal] = this.#keyword!;
    const least = 3 + (normal ? 3 : 0) + (color ? 3 : 0) + (texture ? 2 : 0);
    if (n < least)
      this.#bad(
        'wrong-count',
        `vertex ${countText(this.#vertices + 1)} has ${counted(n, 'value')}, '${this.#keyword![0]}' asks for ${countText(least)}`,
      );
    this.#vertices++;
    this.#positions.append(this.#row.subarray(0, 3));
    if (normal) this.#normals.append(this.#row.subarray(3, 6));
    if (color) this.#colors.append(this.#row.subarray(normal ? 6 : 3, normal ? 9 : 6));
  }

  /** A count of corners, as many indices, and perhaps a color, which is passed over whatever it is. */
  #takeFace(bytes: Uint8Array, at: number): void {
    const which = `face ${countText(this.#faces + 1)}`;
    let i = this.#readNumber(bytes, at, 0);
    const corners = this.#row[0];
    if (!Number.isSafeInteger(corners) || corners < 0)
      this.#bad('bad-face', `${which} has ${countText(corners)} corners`);
    const [vertices] = this.#counts!;
    const indices: number[] = [];
    for (let k = 0; k < corners; k++) {
      if (bytes[i] === 10 || bytes[i] === 13 || bytes[i] === HASH)
        this.#bad('wrong-count', `${which} has ${counted(k, 'index', 'indices')} for ${counted(corners, 'corner')}`);
      i = this.#readNumber(bytes, i, 0);
      const v = this.#row[0];
      if (!(Number.isSafeInteger(v) && v >= 0 && v < vertices))
        this.#bad(
          'index-out-of-range',
          `${which} names vertex ${v}; the file has ${counted(vertices, 'vertex', 'vertices')}, counted from 0`,
        );
      indices.push(v);
    }
    this.#faces++;
    if (corners < 3) {
      this.#lacking++;
      return;
    }
    if (corners > 3) this.#polygons.append(Uint32Array.of(0, corners), this.#triangles.length / 3);
    for (let k = 2; k < corners; k++) this.#triangles.append(Uint32Array.of(indices[0], indices[k - 1], indices[k]));
  }

  /** Reads the numbers of a line up to its end or a comment; gives how many. */
  #readRow(bytes: Uint8Array, at: number): number {
    let n = 0;
    let i = at;
    while (isBlank(bytes[i])) i++;
    while (bytes[i] !== 10 && bytes[i] !== 13 && bytes[i] !== HASH) {
      // Values beyond the row are not asked for.
      i = this.#readNumber(bytes, i, Math.min(n++, this.#row.length - 1));
    }
    return n;
  }

  /** Reads a number into the row; gives the place of what follows on the line. */
  #readNumber(bytes: Uint8Array, at: number, k: number): number {
    let i = readDecimal(bytes, at, this.#row, k);
    if (i < 0) {
      let end = at;
      while (bytes[end] > 32) end++;
      this.#bad('bad-number', `holds '${excerpt(textOf(bytes, at, Math.min(end, at + 200)))}' where a number belongs`);
    }
    while (isBlank(bytes[i])) i++;
    return i;
  }

  #bad(code: string, what: string, line: number = this.#line): never {
    throw refusal(this.#context.name, code, `line ${countText(line)}: ${what}. Export it again.`);
  }
}
