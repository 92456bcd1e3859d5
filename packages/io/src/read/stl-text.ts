import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { warnOfLacking } from './lacking-faces.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { type LengthUnit, unitNamedIn } from './units.js';
import { VertexMerge } from './vertex-merge.js';

/** What the next word must be. The names of solids run to the end of their line. */
type Place =
  | 'solid'
  | 'name'
  | 'facet'
  | 'normal'
  | 'direction'
  | 'outer'
  | 'loop'
  | 'vertex'
  | 'coordinate'
  | 'endfacet'
  | 'end name';

/** Between words: space, tab, the line ends, vertical tab and form feed. */
const isSpace = (c: number): boolean => c === 32 || (c >= 9 && c <= 13);
/** What old systems fill a text file up with. */
const isPadding = (c: number): boolean => c === 0 || c === 26;

/**
 * Text STL: words in a fixed order, however they are spread over lines and written in capitals or not; several solids make one scan.
 * Corners with the same three numbers become one point, unless told not to. The three words of a facet's normal are passed over, whatever they
 * are: facet normals are often wrong or no numbers, and the order of the corners says where outside is.
 * Errors: `bad-statement`, `bad-number`, `bad-face`, `cut-short`, `record-too-long`.
 */
export class StlTextReader implements FormatReader {
  readonly format = 'stl';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  readonly #merge: VertexMerge | undefined;
  readonly #corners = new Column(Float64Array);
  #scratchCorners = new Float64Array(0);
  readonly #triangles = new Column(Uint32Array);
  #scratch = new Uint32Array(0);
  #place: Place = 'solid';
  #line = 1;
  #afterReturn = false;
  /** Nine coordinates of a facet, and how many are read. */
  readonly #facet = new Float64Array(9);
  #have = 0;
  readonly #words = new Int32Array(6);
  readonly #point = new Float64Array(this.#words.buffer);
  #facets = 0;
  #dropped = 0;
  #lacking = 0;
  #inSolid = false;
  #unit: LengthUnit | undefined;
  #size = 0;

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    if (context.merge ?? true) this.#merge = new VertexMerge(6);
    this.#window = new ByteWindow(context.name, (have) => this.#consume(have), capacity);
  }

  push(bytes: Uint8Array): void {
    this.#size += bytes.length;
    this.#window.push(bytes);
  }

  end(): FileContents {
    const { name, keepWhole, warnings } = this.#context;
    this.#window.end();
    if (this.#window.lastByte >= 0) {
      this.#window.terminate(10);
      this.#window.end();
    }
    if (this.#inSolid) {
      const where =
        this.#place === 'facet'
          ? `cut short behind triangle ${countText(this.#facets)}`
          : `triangle ${countText(this.#facets + 1)} cut short`;
      const which = `${where}: the file ends after line ${countText(this.#line)}, ${countText(this.#size)} bytes, without 'endsolid'`;
      if (!keepWhole) throw refusal(name, 'cut-short', `${which}. Export it again.`);
      warnings.push({ code: 'cut-short', message: `${name}: ${which}.` });
    }
    warnOfLacking(this.#lacking, this.#context);
    if (this.#dropped > 0) {
      if (this.#dropped === this.#facets) {
        throw refusal(
          name,
          'not-finite',
          `no triangle has coordinates that are numbers (${counted(this.#facets, 'triangle')} read). Export it again.`,
        );
      }
      warnings.push({
        code: 'not-finite',
        message: `${name}: ${counted(this.#dropped, 'triangle')} with a coordinate that is no number dropped.`,
      });
    }
    const triangles = this.#triangles.take();
    const positions = this.#merge?.take() ?? this.#corners.take();
    return { positions, triangles, ...(this.#unit && { unit: this.#unit }) };
  }

  /** Uses whole words: up to the last blank. */
  #consume(have: number): number {
    const { bytes } = this.#window;
    let to = have;
    while (to > 0 && !isSpace(bytes[to - 1])) to--;
    if (to === 0) return 0;
    // A facet takes far more bytes than its three indices.
    if (this.#scratch.length < have) {
      this.#scratch = new Uint32Array(have);
      if (this.#merge === undefined) this.#scratchCorners = new Float64Array(3 * have);
    }
    const n = this.#readWords(to);
    this.#corners.append(this.#scratchCorners.subarray(0, this.#merge === undefined ? 3 * n : 0));
    this.#triangles.append(this.#scratch.subarray(0, n));
    return to;
  }

  #readWords(to: number): number {
    const { bytes } = this.#window;
    let i = 0;
    let n = 0;
    while (i < to) {
      const c = bytes[i];
      if (isSpace(c) || (this.#place === 'solid' && isPadding(c))) {
        if (c === 10 ? !this.#afterReturn : c === 13) {
          this.#line++;
          if (this.#place === 'name') this.#place = 'facet';
          else if (this.#place === 'end name') this.#place = 'solid';
        }
        this.#afterReturn = c === 13;
        i++;
        continue;
      }
      this.#afterReturn = false;
      if (this.#place === 'coordinate') {
        const next = readDecimal(bytes, i, this.#facet, this.#have);
        if (next < 0) throw this.#badNumber(i);
        i = next;
        if (++this.#have % 3 === 0) this.#place = 'vertex';
        continue;
      }
      let end = i;
      while (!isSpace(bytes[end])) end++;
      if (this.#place === 'name' || this.#place === 'end name') {
        // A name may end with the window: the words of it that follow are still its own.
        while (end < to && bytes[end] !== 10 && bytes[end] !== 13) end++;
        this.#unit ??= unitNamedIn(textOf(bytes, i, end));
        i = end;
        continue;
      }
      n = this.#takeWord(i, end, n);
      i = end;
    }
    return n;
  }

  /** Takes a word of the grammar; gives the new count of indices. */
  #takeWord(at: number, end: number, n: number): number {
    const { bytes } = this.#window;
    const is = (word: string): boolean => {
      if (end - at !== word.length) return false;
      for (let k = 0; k < word.length; k++) if ((bytes[at + k] | 32) !== word.charCodeAt(k)) return false;
      return true;
    };
    switch (this.#place) {
      case 'solid':
        if (!is('solid')) throw this.#unexpected(at, end, "'solid'");
        this.#inSolid = true;
        this.#place = 'name';
        return n;
      case 'facet':
        if (is('facet')) {
          this.#place = 'normal';
          this.#have = 0;
        } else if (is('endsolid')) {
          this.#inSolid = false;
          this.#place = 'end name';
        } else throw this.#unexpected(at, end, "'facet' or 'endsolid'");
        return n;
      case 'normal':
        if (!is('normal')) throw this.#unexpected(at, end, "'normal'");
        this.#place = 'direction';
        return n;
      case 'direction':
        if (++this.#have === 3) {
          this.#place = 'outer';
          this.#have = 0;
        }
        return n;
      case 'outer':
        if (!is('outer')) throw this.#unexpected(at, end, "'outer'");
        this.#place = 'loop';
        return n;
      case 'loop':
        if (!is('loop')) throw this.#unexpected(at, end, "'loop'");
        this.#place = 'vertex';
        return n;
      case 'vertex':
        if (is('vertex') && this.#have < 9) {
          this.#place = 'coordinate';
          return n;
        }
        if (is('vertex'))
          throw this.#bad('bad-face', `triangle ${countText(this.#facets + 1)} has more than three corners`);
        if (!is('endloop')) throw this.#unexpected(at, end, this.#have < 9 ? "'vertex'" : "'endloop'");
        this.#place = 'endfacet';
        return n;
      default:
        if (!is('endfacet')) throw this.#unexpected(at, end, "'endfacet'");
        this.#place = 'facet';
        return this.#takeFacet(n);
    }
  }

  #takeFacet(n: number): number {
    const facet = this.#facet;
    this.#facets++;
    if (this.#have < 9) {
      this.#lacking++;
      return n;
    }
    if (!facet.every(Number.isFinite)) {
      this.#dropped++;
      return n;
    }
    for (let k = 0; k < 9; k += 3) {
      // + 0 makes −0 a 0.
      this.#point[0] = facet[k] + 0;
      this.#point[1] = facet[k + 1] + 0;
      this.#point[2] = facet[k + 2] + 0;
      if (this.#merge !== undefined) this.#scratch[n++] = this.#merge.double(this.#words);
      else {
        this.#scratchCorners.set(this.#point, 3 * n);
        this.#scratch[n] = this.#corners.length / 3 + n++;
      }
    }
    return n;
  }

  #unexpected(at: number, end: number, wanted: string): Error {
    const word = excerpt(textOf(this.#window.bytes, at, Math.min(end, at + 200)));
    return this.#bad('bad-statement', `'${word}' where ${wanted} belongs`);
  }

  #badNumber(at: number): Error {
    const { bytes } = this.#window;
    let end = at;
    while (!isSpace(bytes[end])) end++;
    const word = excerpt(textOf(bytes, at, Math.min(end, at + 200)));
    const hint = /^[+-]?\d+,\d+/.test(word) ? ', decimals take a point' : '';
    return this.#bad(
      'bad-number',
      `triangle ${countText(this.#facets + 1)} holds '${word}' where a number belongs${hint}`,
    );
  }

  #bad(code: string, what: string): Error {
    return refusal(this.#context.name, code, `line ${countText(this.#line)}: ${what}. Export it again.`);
  }
}
