import { counted, countText } from '../report/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { textOf } from './decimal.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { unitNamedIn } from './units.js';
import { VertexMerge } from './vertex-merge.js';

const HEADER = 84;
const FACET = 50;

/**
 * Binary STL (3D Systems, "StereoLithography Interface Specification", 1989): 80 bytes of anything, a count, 50 bytes a facet,
 * little-endian. Corners equal bit for bit become one point. Facet normals and the two spare bytes are passed over: the order
 * of the corners says where outside is.
 * Errors: `cut-short`, `wrong-count`, `no-points`, `not-finite`.
 */
export class StlBinaryReader implements FormatReader {
  readonly format = 'stl';
  readonly encoding = 'binary';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  #merge = new VertexMerge(3);
  #triangles = new Column(Uint32Array);
  #header = '';
  /** Facets the header counts; -1 until it is read. */
  #count = -1;
  #facets = 0;
  #dropped = 0;
  #size = 0;
  #behind = 0;
  #behindMeans = false;

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    this.#window = new ByteWindow(context.name, (have) => this.#consume(have), capacity);
  }

  push(bytes: Uint8Array): void {
    this.#size += bytes.length;
    this.#window.push(bytes);
  }

  end(): FileContents {
    const { name, warnings } = this.#context;
    this.#window.end();
    this.#checkSize();
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
    const unit = unitNamedIn(this.#header);
    const triangles = this.#triangles.take();
    return { positions: this.#merge.take(), triangles, ...(unit && { unit }) };
  }

  #consume(have: number): number {
    const { bytes, view } = this.#window;
    let at = 0;
    if (this.#count < 0) {
      if (have < HEADER) return 0;
      this.#header = textOf(bytes, 0, 80);
      this.#count = view.getUint32(80, true);
      const { total } = this.#context;
      // Memory is taken at once only where the size of the file vouches for the count.
      if (total !== undefined && total >= HEADER + FACET * this.#count) {
        this.#triangles = new Column(Uint32Array, 3 * this.#count);
        // A closed mesh has half as many points as triangles (Euler), an open one a few more.
        this.#merge = new VertexMerge(3, Math.ceil(0.53 * this.#count));
      }
      at = HEADER;
    }
    const limit = this.#context.keepWhole ? Infinity : this.#count - this.#facets;
    const facets = Math.min(Math.floor((have - at) / FACET), limit);
    if (facets > 0) this.#takeFacets(view, at, facets);
    at += facets * FACET;
    if (this.#facets < this.#count || this.#context.keepWhole) return at;
    this.#behind += have - at;
    for (; at < have && !this.#behindMeans; at++) this.#behindMeans = bytes[at] !== 0;
    return have;
  }

  #takeFacets(view: DataView, at: number, facets: number): void {
    const merge = this.#merge;
    const { into, at: first } = this.#triangles.room(3 * facets);
    let n = first;
    const end = at + facets * FACET;
    for (let i = at + 12; i < end; i += FACET) {
      let isNumber = true;
      for (let k = i; k < i + 36; k += 4) {
        if ((view.getInt32(k, true) & 0x7f800000) === 0x7f800000) isNumber = false;
      }
      if (!isNumber) {
        this.#dropped++;
        continue;
      }
      for (let k = i; k < i + 36; k += 12) {
        let x = view.getInt32(k, true);
        let y = view.getInt32(k + 4, true);
        let z = view.getInt32(k + 8, true);
        if (x === NEGATIVE_ZERO) x = 0;
        if (y === NEGATIVE_ZERO) y = 0;
        if (z === NEGATIVE_ZERO) z = 0;
        into[n++] = merge.single(x, y, z);
      }
    }
    this.#triangles.giveBack(first + 3 * facets - n);
    this.#facets += facets;
  }

  /** Holds the size of the file against 84 + 50·n. */
  #checkSize(): void {
    const { name, keepWhole, warnings } = this.#context;
    const asked = HEADER + FACET * Math.max(this.#count, 0);
    const holds = `the file holds ${countText(this.#size)} bytes`;
    if (this.#count < 0) {
      throw refusal(name, 'cut-short', `${holds}; the header of a binary STL alone takes 84. Export it again.`);
    }
    if (this.#facets < this.#count) {
      const which = `triangle ${countText(this.#facets + 1)} of ${countText(this.#count)} cut short: ${holds}, its header asks for ${countText(asked)}`;
      if (!keepWhole) throw refusal(name, 'cut-short', `${which}. Export it again.`);
      warnings.push({
        code: 'cut-short',
        message: `${name}: ${which}. Lost: ${counted(this.#count - this.#facets, 'triangle')}.`,
      });
    } else if (this.#facets > this.#count) {
      warnings.push({
        code: 'wrong-count',
        message: `${name}: ${counted(this.#facets, 'triangle')} read, its header counts ${countText(this.#count)}.`,
      });
    } else if (this.#behindMeans && this.#behind >= FACET) {
      throw refusal(
        name,
        'wrong-count',
        `its header counts ${counted(this.#count, 'triangle')}, ${countText(asked)} bytes, but ${holds}: room for ${countText(Math.floor((this.#size - HEADER) / FACET))}. Export it again.`,
      );
    } else if (this.#behind > 0) {
      warnings.push({
        code: 'padded',
        message: `${name}: ${counted(this.#behind, 'byte')} behind its ${counted(this.#count, 'triangle')} left out.`,
      });
    }
  }
}

const NEGATIVE_ZERO = -0x80000000;
