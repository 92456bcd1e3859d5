import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { asOctets } from './color-values.js';
import { Column } from './column.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import {
  fieldsOf,
  guessColumns,
  namedColumns,
  type PointColumns,
  rowSeparator,
  type Separator,
} from './point-columns.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { endOfLines, isBlank, nextLine, readLastLine } from './text-lines.js';
import { type LengthUnit, unitNamedIn } from './units.js';

/** A separator other than blanks is written over by this in the window: numbers end before it, and it is no blank. */
const MARK = 31;
/** Rows that decide what the columns are. */
const SAMPLE = 4096;

/**
 * Point lists: a row a point, three numbers or more, separated by blanks, commas or semicolons; lines that begin with `#`, `//` or `%`
 * are comments. A heading, commented or not, names the columns; without one they are told by what stands in them, with a
 * warning that says how. A first line of one whole number is the count of rows that follow. Decimals take a point: where commas
 * stand for it, the file is refused, for nobody can tell 1,5 from 1 and 5.
 * Errors: `decimal-comma`, `bad-number`, `wrong-count`, `cut-short`, `record-too-long`.
 */
export class XyzReader implements FormatReader {
  readonly format = 'xyz';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  readonly #positions = new Column(Float64Array);
  readonly #normals = new Column(Float32Array);
  readonly #colors = new Column(Float32Array);
  #separator: Separator | undefined;
  #width = 0;
  #columns: PointColumns | undefined;
  #heading: { readonly line: string; readonly number: number } | undefined;
  #unit: LengthUnit | undefined;
  #line = 0;
  /** Rows a line of one number promises, and those read since. */
  #promised: number | undefined;
  #rows = 0;
  #scratch = new Float64Array(0);

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
    if (this.#promised !== undefined && this.#rows < this.#promised) {
      const what = `point ${countText(this.#rows + 1)} of ${countText(this.#promised)} cut short: the file ends after line ${countText(this.#line)}`;
      if (!keepWhole) throw refusal(name, 'cut-short', `${what}. Export it again.`);
      warnings.push({
        code: 'cut-short',
        message: `${name}: ${what}. Lost: ${counted(this.#promised - this.#rows, 'point')}.`,
      });
    }
    const columns = this.#columns;
    return {
      positions: this.#positions.take(),
      ...(columns?.normal && { normals: this.#normals.take() }),
      ...(columns?.color && { colors: asOctets(this.#colors.take()) }),
      ...(this.#unit && { unit: this.#unit }),
    };
  }

  #consume(have: number): number {
    const { bytes } = this.#window;
    const to = endOfLines(bytes, have);
    let i = 0;
    // What stands before the first row.
    while (i < to && this.#separator === undefined) i = this.#readBeginning(bytes, i);
    if (i < to) this.#readRows(bytes, i, to);
    return to;
  }

  /** Reads a comment, a heading, a count, or finds the first row: gives the place of the next line to read. */
  #readBeginning(bytes: Uint8Array, at: number): number {
    const next = nextLine(bytes, at);
    const line = textOf(bytes, at, next).trim();
    const separator = rowSeparator(line);
    if (separator === undefined) {
      this.#line++;
      this.#unit ??= unitNamedIn(line);
      if (/^\d+$/.test(line)) this.#promised = Number(line);
      else if (line !== '') this.#heading = { line, number: this.#line };
      return next;
    }
    if (separator === 'decimal comma') {
      throw this.#bad('decimal-comma', this.#line + 1, `'${excerpt(line)}' has commas where decimals take a point`);
    }
    this.#separator = separator;
    this.#width = fieldsOf(line, separator).length;
    return at;
  }

  #readRows(bytes: Uint8Array, at: number, to: number): void {
    const width = this.#width;
    if (this.#separator !== ' ') {
      const separator = this.#separator!.charCodeAt(0);
      for (let i = at; i < to; i++) if (bytes[i] === separator) bytes[i] = MARK;
    }
    // A number and what ends it take two bytes.
    if (this.#scratch.length < to) this.#scratch = new Float64Array(to);
    const scratch = this.#scratch;
    let n = 0;
    let i = at;
    while (i < to) {
      this.#line++;
      while (isBlank(bytes[i])) i++;
      const c = bytes[i];
      if (c === 10 || c === 13) {
        i = nextLine(bytes, i);
        continue;
      }
      if (c === 35 || c === 37 || (c === 47 && bytes[i + 1] === 47)) {
        i = nextLine(bytes, i);
        continue;
      }
      const first = n;
      const start = i;
      while (bytes[i] !== 10 && bytes[i] !== 13) {
        const next = readDecimal(bytes, i, scratch, n);
        if (next < 0) throw this.#badField(bytes, i);
        n++;
        i = next;
        while (isBlank(bytes[i])) i++;
        if (bytes[i] === MARK && this.#separator !== ' ') {
          i++;
          while (isBlank(bytes[i])) i++;
        }
      }
      if (n - first !== width) {
        n = this.#startsBlock(bytes, start, n - first) ? first : this.#badWidth(n - first);
        i = nextLine(bytes, i);
        continue;
      }
      this.#rows++;
      i = nextLine(bytes, i);
    }
    this.#take(scratch.subarray(0, n));
  }

  /** Whether a line is the count of another list of points, behind one that is complete. */
  #startsBlock(bytes: Uint8Array, at: number, values: number): boolean {
    if (values !== 1 || this.#promised === undefined || this.#rows !== this.#promised) return false;
    const line = textOf(bytes, at, nextLine(bytes, at)).trim();
    if (!/^\d+$/.test(line)) return false;
    this.#promised += Number(line);
    return true;
  }

  #take(rows: Float64Array): void {
    if (rows.length === 0) return;
    const width = this.#width;
    this.#columns ??= this.#decideColumns(rows.subarray(0, SAMPLE * width));
    const { position, normal, color } = this.#columns;
    const points = rows.length / width;
    pick(rows, width, position, this.#positions.room(3 * points));
    if (normal !== undefined) pick(rows, width, normal, this.#normals.room(3 * points));
    if (color !== undefined) pick(rows, width, color, this.#colors.room(3 * points));
  }

  #decideColumns(rows: Float64Array): PointColumns {
    const { name, warnings } = this.#context;
    const width = this.#width;
    const words = this.#heading?.line.replace(/^(#|\/\/|%)/, '').trim();
    for (const separator of [this.#separator!, ' '] as const) {
      if (words === undefined) break;
      const fields = fieldsOf(words, separator);
      const columns = fields.length === width ? namedColumns(fields) : undefined;
      if (columns === undefined) continue;
      this.#unit ??= columns.unit;
      return columns;
    }
    const columns = guessColumns(rows, width);
    if (width > 3) {
      const { normal, color } = columns;
      const taken = ['1 to 3 coordinates'];
      if (normal) taken.push(`${normal[0] + 1} to ${normal[2] + 1} normals`);
      if (color) taken.push(`${color[0] + 1} to ${color[2] + 1} colors`);
      const left = width - 3 * taken.length;
      warnings.push({
        code: 'columns-assumed',
        message: `${name}: the file does not name its ${countText(width)} columns. Taken: ${taken.join(', ')}; ${left === 0 ? 'none' : countText(left)} left out.`,
      });
    }
    return columns;
  }

  #badField(bytes: Uint8Array, at: number): Error {
    let end = at;
    while (bytes[end] > 32) end++;
    const field = excerpt(textOf(bytes, at, Math.min(end, at + 200)));
    if (field === '') return this.#bad('bad-number', this.#line, 'a field is empty');
    if (/^[+-]?\d+,\d+/.test(field)) {
      return this.#bad('decimal-comma', this.#line, `'${field}' has a comma where decimals take a point`);
    }
    return this.#bad('bad-number', this.#line, `holds '${field}' where a number belongs`);
  }

  #badWidth(values: number): never {
    throw this.#bad(
      'wrong-count',
      this.#line,
      `has ${counted(values, 'value')}, the first row has ${countText(this.#width)}`,
    );
  }

  #bad(code: string, line: number, what: string): Error {
    return refusal(this.#context.name, code, `line ${countText(line)}: ${what}. Export it again.`);
  }
}

/** Copies three columns of the rows. */
function pick(
  rows: Float64Array,
  width: number,
  columns: readonly number[],
  { into, at }: { into: Float64Array | Float32Array; at: number },
): void {
  const [a, b, c] = columns;
  let n = at;
  for (let r = 0; r < rows.length; r += width) {
    into[n] = rows[r + a];
    into[n + 1] = rows[r + b];
    into[n + 2] = rows[r + c];
    n += 3;
  }
}
