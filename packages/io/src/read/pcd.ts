import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { unpackLzf } from './lzf.js';
import { binaryValue, PcdColumns } from './pcd-columns.js';
import { type PcdHeader, parsePcdHeader } from './pcd-header.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { endOfLines, isBlank, nextLine, readLastLine } from './text-lines.js';

/** Bytes that LZF makes of one at most: 264 of a reference of three. */
const LZF_MOST = 88;

/**
 * PCD (point cloud data), versions .5 to .7: as text, binary, and binary compressed by LZF, field by field. Coordinates, normals and colors are
 * read; other fields and the viewpoint are passed over: points stand in the axes they are written in.
 * Errors: `bad-header`, `no-coordinates`, `bad-number`, `wrong-count`, `cut-short`, `bad-compression`, `record-too-long`.
 */
export class PcdReader implements FormatReader {
  readonly format = 'pcd';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  /** Of compressed data, which are unpacked whole. */
  readonly #packed = new Column(Uint8Array);
  #header: PcdHeader | undefined;
  #columns: PcdColumns | undefined;
  #points = 0;
  #line = 0;
  #behind = 0;
  #behindMeans = false;
  #row = new Float64Array(0);

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    this.#window = new ByteWindow(context.name, (have, last) => this.#consume(have, last), capacity);
  }

  get encoding(): 'text' | 'binary' {
    return this.#header?.data === 'ascii' ? 'text' : 'binary';
  }

  push(bytes: Uint8Array): void {
    this.#window.push(bytes);
  }

  end(): FileContents {
    const { name, keepWhole, warnings } = this.#context;
    this.#window.end();
    const header = this.#header!;
    if (header.data === 'ascii') readLastLine(this.#window, this.#context, () => this.#line);
    else if (header.data === 'binary_compressed') this.#unpack(header);
    if (this.#points < header.points) {
      const which = `point ${countText(this.#points + 1)} of ${countText(header.points)} cut short: the file ends`;
      if (!keepWhole) throw refusal(name, 'cut-short', `${which}. Export it again.`);
      warnings.push({
        code: 'cut-short',
        message: `${name}: ${which}. Lost: ${counted(header.points - this.#points, 'point')}.`,
      });
    } else if (this.#behindMeans) {
      const what = `${counted(this.#behind, 'byte')} behind the ${counted(header.points, 'point')} its header counts`;
      if (!keepWhole) throw refusal(name, 'wrong-count', `${what}. Export it again.`);
      warnings.push({ code: 'wrong-count', message: `${name}: ${what} left out.` });
    }
    return this.#columns!.contents(header);
  }

  #consume(have: number, last: boolean): number {
    const { bytes } = this.#window;
    let at = 0;
    if (this.#header === undefined) {
      const header = parsePcdHeader(bytes, have, last, this.#context.name);
      if (header === undefined) return 0;
      this.#header = header;
      this.#columns = new PcdColumns(header, this.#context.name);
      this.#line = header.lines;
      at = header.bytes;
    }
    switch (this.#header.data) {
      case 'ascii':
        return this.#readLines(bytes, at, have);
      case 'binary':
        return this.#readRows(bytes, at, have);
      default:
        this.#packed.append(bytes.subarray(at, have));
        return have;
    }
  }

  #readRows(bytes: Uint8Array, at: number, have: number): number {
    const { stride, points } = this.#header!;
    const rows = Math.min(points - this.#points, Math.floor((have - at) / stride));
    const view = new DataView(bytes.buffer, bytes.byteOffset);
    this.#columns!.take(rows, (field, r) => binaryValue(view, at + r * stride + field.offset, field));
    this.#points += rows;
    const next = at + rows * stride;
    return this.#points < points ? next : this.#passOver(bytes, next, have);
  }

  #readLines(bytes: Uint8Array, at: number, have: number): number {
    const { width, points } = this.#header!;
    const to = endOfLines(bytes, have);
    // A value and what ends it take two bytes, and a line one value more than asked for at most.
    if (this.#row.length < have + width + 1) this.#row = new Float64Array(have + width + 1);
    const values = this.#row;
    let i = at;
    let rows = 0;
    while (i < to && this.#points + rows < points) {
      this.#line++;
      while (isBlank(bytes[i])) i++;
      if (bytes[i] !== 10 && bytes[i] !== 13 && bytes[i] !== 35) {
        this.#readValues(bytes, i, rows * width);
        rows++;
      }
      i = nextLine(bytes, i);
    }
    this.#columns!.take(rows, (field, r) => values[r * width + field.place]);
    this.#points += rows;
    return this.#points < points ? Math.max(i, at) : this.#passOver(bytes, Math.max(i, at), have);
  }

  /** Reads the values of the line at `at` into the row from `k` on. */
  #readValues(bytes: Uint8Array, at: number, k: number): void {
    const { width } = this.#header!;
    let n = 0;
    for (let i = at; bytes[i] !== 10 && bytes[i] !== 13; n++) {
      const next = readDecimal(bytes, i, this.#row, k + Math.min(n, width));
      if (next < 0) {
        let end = i;
        while (bytes[end] > 32) end++;
        const text = excerpt(textOf(bytes, i, Math.min(end, i + 200)));
        throw refusal(
          this.#context.name,
          'bad-number',
          `line ${countText(this.#line)}: holds '${text}' where a number belongs. Export it again.`,
        );
      }
      i = next;
      while (isBlank(bytes[i])) i++;
    }
    if (n !== width) {
      throw refusal(
        this.#context.name,
        'wrong-count',
        `line ${countText(this.#line)}: has ${counted(n, 'value')}, its header asks for ${countText(width)}. Export it again.`,
      );
    }
  }

  #passOver(bytes: Uint8Array, at: number, have: number): number {
    this.#behind += have - at;
    for (let i = at; i < have && !this.#behindMeans; i++) this.#behindMeans = bytes[i] > 32;
    return have;
  }

  /** Sizes packed and unpacked, then the data, in which all values of a field stand together. */
  #unpack({ stride, points, fields }: PcdHeader): void {
    const { name } = this.#context;
    const bytes = this.#packed.take();
    const head = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    const packed = bytes.length < 8 ? Infinity : head.getUint32(0, true);
    if (8 + packed > bytes.length) {
      throw refusal(
        name,
        'cut-short',
        `its compressed data are cut short after ${counted(bytes.length, 'byte')}. Export it again.`,
      );
    }
    const size = head.getUint32(4, true);
    const damaged = (what: string) =>
      refusal(name, 'bad-compression', `its compressed data are damaged: ${what}. Export it again.`);
    if (size !== stride * points || size > LZF_MOST * packed) {
      throw damaged(`${counted(packed, 'byte')} cannot hold ${counted(points, 'point')} of ${counted(stride, 'byte')}`);
    }
    const data = new Uint8Array(size);
    if (!unpackLzf(bytes.subarray(8, 8 + packed), data)) throw damaged('they do not unpack');
    const view = new DataView(data.buffer);
    const starts = new Map(fields.map((field) => [field, field.offset * points]));
    this.#columns!.take(points, (field, r) =>
      binaryValue(view, starts.get(field)! + r * field.size * field.count, field),
    );
    this.#points = points;
    this.#passOver(bytes, 8 + packed, bytes.length);
  }
}
