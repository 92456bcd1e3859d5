import { counted, countText } from '../text/number-text.js';
import type { ByteWindow } from './byte-window.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { asColor, colorScale, cutStrip, type PlyContents, type Role, roleOf } from './ply-contents.js';
import type { PlyElement } from './ply-header.js';
import { endOfLines, isBlank, nextLine } from './text-lines.js';
import { makeUnit } from './unit-normals.js';

interface Table {
  readonly element: PlyElement;
  readonly role: Role;
  readonly list: number;
  rows: number;
}

/** Reads the rows of a text PLY file, a line each, as they come. */
export class PlyText {
  readonly #contents: PlyContents;
  readonly #tables: readonly Table[];
  readonly #colorScales: readonly number[];
  #current = 0;
  #line: number;
  /** Numbers of one line. */
  #row = new Float64Array(64);
  #scratch = new Uint32Array(0);
  #behind = 0;
  #behindMeans = false;

  constructor(contents: PlyContents) {
    this.#contents = contents;
    this.#line = contents.header.lines;
    this.#tables = contents.header.elements.map((element) => ({ element, ...roleOf(element), rows: 0 }));
    const vertex = contents.header.elements.find((e) => e.name === 'vertex');
    this.#colorScales = contents.layout?.color?.map((p) => colorScale(vertex!.properties[p].type)) ?? [];
  }

  /** Lines read. */
  get line(): number {
    return this.#line;
  }

  /** Uses whole lines from `at` on; gives the place behind the last one. */
  consume(window: ByteWindow, at: number, have: number): number {
    const to = endOfLines(window.bytes, have);
    let i = at;
    while (i < to) {
      this.#pass();
      const table = this.#tables[this.#current];
      if (table === undefined) {
        this.#behind += to - i;
        for (; i < to; i++) this.#behindMeans ||= window.bytes[i] > 32;
        return to;
      }
      i = table.role === 'vertices' ? this.#readVertices(window, i, to, table) : this.#readOthers(window, i, to, table);
    }
    return Math.max(i, at);
  }

  end(): void {
    this.#pass();
    const table = this.#tables[this.#current];
    if (table !== undefined) {
      this.#contents.endedEarly(table.element, table.rows, `the file ends after line ${countText(this.#line)}`);
    } else if (this.#behindMeans) this.#contents.goesOn(this.#behind, true);
  }

  /** Passes over elements that are complete; one without properties has no lines. */
  #pass(): void {
    for (; this.#current < this.#tables.length; this.#current++) {
      const { element, rows } = this.#tables[this.#current];
      if (rows < element.count && element.properties.length > 0) return;
    }
  }

  #readVertices(window: ByteWindow, at: number, to: number, table: Table): number {
    const { layout, positions, normals, colors, bounds } = this.#contents;
    const { element } = table;
    const isRagged = element.properties.some((p) => p.countType !== undefined);
    // The shortest row of three values and a line end takes six bytes.
    const most = Math.min(element.count - table.rows, Math.ceil((to - at) / 6));
    const p = new Float64Array(3 * most);
    const n = layout!.normal && new Float32Array(3 * most);
    const c = layout!.color && new Uint8Array(3 * most);
    const { position, normal, color } = layout!;
    let i = at;
    let k = 0;
    while (i < to && table.rows < element.count) {
      const next = this.#readRow(window, i, table);
      if (next < 0) {
        i = -next;
        continue;
      }
      i = next;
      const row = isRagged ? this.#singleValues(element) : this.#row;
      for (let a = 0; a < 3; a++) p[k + a] = row[position[a]];
      if (n !== undefined) for (let a = 0; a < 3; a++) n[k + a] = row[normal![a]];
      if (c !== undefined) for (let a = 0; a < 3; a++) c[k + a] = asColor(row[color![a]] * this.#colorScales[a]);
      k += 3;
    }
    positions.append(p.subarray(0, k));
    bounds.widen(p, 0, k);
    if (n !== undefined) {
      makeUnit(n, 0, k);
      normals.append(n.subarray(0, k));
    }
    if (c !== undefined) colors.append(c.subarray(0, k));
    return i;
  }

  #readOthers(window: ByteWindow, at: number, to: number, table: Table): number {
    const { element, role, list } = table;
    const { triangles, polygons, points } = this.#contents;
    if (role !== 'nothing') this.#contents.hasFaces = true;
    // Two bytes a corner, a triangle a corner.
    if (this.#scratch.length < 2 * to) this.#scratch = new Uint32Array(2 * to);
    const scratch = this.#scratch;
    const first = triangles.length / 3;
    const pairs: number[] = [];
    let i = at;
    let n = 0;
    while (i < to && table.rows < element.count) {
      const line = this.#line + 1;
      const next = this.#readRow(window, i, table);
      if (next < 0) {
        i = -next;
        continue;
      }
      i = next;
      if (role === 'nothing') continue;
      const face = table.rows - 1;
      const start = this.#startOf(element, list);
      const corners = this.#row[start];
      if (role === 'strips') {
        const strip = this.#row.subarray(start + 1, start + 1 + corners);
        const wrong = strip.find((v) => !(v >= -1 && v < points && v === Math.floor(v)));
        if (wrong !== undefined) throw this.#contents.badIndex(wrong, element, face, line);
        n = cutStrip(strip, corners, scratch, n);
        continue;
      }
      if (!this.#contents.isFace(corners, element, face, line)) continue;
      if (corners > 3) pairs.push(n / 3, corners);
      for (let k = 0; k < corners; k++) {
        const v = this.#row[start + 1 + k];
        if (!(v >= 0 && v < points && v === Math.floor(v))) throw this.#contents.badIndex(v, element, face, line);
        if (k > 2) {
          scratch[n] = scratch[n - 3 * (k - 2)];
          scratch[n + 1] = scratch[n - 1];
          n += 2;
        }
        scratch[n++] = v;
      }
    }
    triangles.append(scratch.subarray(0, n));
    polygons.append(Uint32Array.from(pairs), first);
    return i;
  }

  /**
   * Reads the numbers of the line at `at` into the row and counts the row as read; gives the place of the next line, or its
   * negative for a blank line.
   */
  #readRow(window: ByteWindow, at: number, table: Table): number {
    const { bytes } = window;
    const { element } = table;
    this.#line++;
    let i = at;
    while (isBlank(bytes[i])) i++;
    if (bytes[i] === 10 || bytes[i] === 13) return -nextLine(bytes, i);
    if (table.role === 'nothing') {
      table.rows++;
      return nextLine(bytes, i);
    }
    let n = 0;
    while (bytes[i] !== 10 && bytes[i] !== 13) {
      if (n === this.#row.length) {
        const larger = new Float64Array(2 * n);
        larger.set(this.#row);
        this.#row = larger;
      }
      const next = readDecimal(bytes, i, this.#row, n);
      if (next < 0) throw this.#badNumber(bytes, i, element, table.rows);
      n++;
      i = next;
      while (isBlank(bytes[i])) i++;
    }
    const asked = this.#valuesAsked(element, n);
    if (n !== asked) {
      throw this.#contents.bad(
        'wrong-count',
        element,
        table.rows,
        `has ${counted(n, 'value')}, its header asks for ${Number.isFinite(asked) ? countText(asked) : 'more'}`,
        this.#line,
      );
    }
    table.rows++;
    return nextLine(bytes, i);
  }

  /** Values a line of `n` numbers should have. */
  #valuesAsked(element: PlyElement, n: number): number {
    let values = 0;
    for (const p of element.properties) {
      if (p.countType === undefined) values++;
      else if (values >= n) return Infinity;
      else {
        const corners = this.#row[values];
        values += 1 + (corners > 0 ? Math.floor(corners) : 0);
      }
    }
    return values;
  }

  /** Place in the row where the property starts. */
  #startOf(element: PlyElement, property: number): number {
    let at = 0;
    for (let p = 0; p < property; p++) at += element.properties[p].countType === undefined ? 1 : 1 + this.#row[at];
    return at;
  }

  /** The row with a place a property, lists as their counts. */
  #singleValues(element: PlyElement): Float64Array {
    let at = 0;
    return Float64Array.from(element.properties, ({ countType }) => {
      const value = this.#row[at];
      at += countType === undefined ? 1 : 1 + value;
      return value;
    });
  }

  #badNumber(bytes: Uint8Array, at: number, element: PlyElement, row: number): Error {
    let end = at;
    while (bytes[end] > 32) end++;
    const token = excerpt(textOf(bytes, at, Math.min(Math.max(end, at + 1), at + 200)));
    const hint = /^[+-]?\d+,\d+/.test(token) ? ', decimals take a point' : '';
    return this.#contents.bad('bad-number', element, row, `holds '${token}' where a number belongs${hint}`, this.#line);
  }
}
