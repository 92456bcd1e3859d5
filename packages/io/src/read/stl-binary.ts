import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { textOf } from './decimal.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { RunningBounds } from './running-bounds.js';
import { unitNamedIn } from './units.js';
import { BATCH, VertexMerge } from './vertex-merge.js';

const HEADER = 84;
const FACET = 50;

/**
 * Binary STL (3D Systems, "StereoLithography Interface Specification", 1989): 80 bytes of anything, a count, 50 bytes a facet,
 * little-endian. Corners equal bit for bit become one point, unless told not to. Facet normals and the two spare bytes are passed over: the order
 * of the corners says where outside is.
 * Errors: `cut-short`, `wrong-count`, `no-points`, `not-finite`.
 */
export class StlBinaryReader implements FormatReader {
  readonly format = 'stl';
  readonly encoding = 'binary';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  #merge: VertexMerge | undefined;
  #corners = new Column(Float64Array);
  readonly #bounds = new RunningBounds();
  readonly #batch = new Int32Array(3 * BATCH);
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
    if (this.#merge !== undefined) return { positions: this.#merge.take(), triangles, ...(unit && { unit }) };
    return { positions: this.#corners.take(), triangles, bounds: this.#bounds, ...(unit && { unit }) };
  }

  #consume(have: number): number {
    const { bytes, view } = this.#window;
    let at = 0;
    if (this.#count < 0) {
      if (have < HEADER) return 0;
      this.#header = textOf(bytes, 0, 80);
      this.#count = view.getUint32(80, true);
      const { total, ahead, merge = true } = this.#context;
      // Memory is taken at once only where the size of the file vouches for the count.
      const facets = total !== undefined && total >= HEADER + FACET * this.#count ? this.#count : undefined;
      if (facets !== undefined) this.#triangles = new Column(Uint32Array, 3 * facets, 3 / FACET, ahead);
      // A closed mesh has half as many points as triangles (Euler), an open one a few more.
      if (merge) this.#merge = new VertexMerge(3, facets && Math.ceil(0.53 * facets));
      else if (facets !== undefined) this.#corners = new Column(Float64Array, 9 * facets, 9 / FACET, ahead);
      at = HEADER;
      this.#window.isDirect = true;
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
    const { into, at: first } = this.#triangles.room(3 * facets);
    const end = at + facets * FACET;
    const taken =
      this.#merge === undefined ? this.#takeCorners(view, at, end) : this.#mergeCorners(view, at, end, into, first);
    if (this.#merge === undefined) {
      const point = this.#corners.length / 3 - taken;
      for (let c = 0; c < taken; c++) into[first + c] = point + c;
    }
    const lost = 3 * facets - taken;
    this.#dropped += lost / 3;
    this.#triangles.giveBack(lost);
    this.#facets += facets;
  }

  /** Merges the corners of the facets in [at, end) and writes their points' numbers; gives how many. */
  #mergeCorners(view: DataView, at: number, end: number, into: Uint32Array, first: number): number {
    const batch = this.#batch;
    let n = first;
    for (let i = at; i < end; i += FACET * (BATCH / 3)) {
      const corners = readWords(view, i, Math.min(i + FACET * (BATCH / 3), end), batch);
      this.#merge!.singles(batch, corners, into, n);
      n += corners;
    }
    return n - first;
  }

  /** Makes a point of each corner of the facets in [at, end); gives how many. */
  #takeCorners(view: DataView, at: number, end: number): number {
    const values = (9 * (end - at)) / FACET;
    const { into, at: first } = this.#corners.room(values);
    const taken = readValues(view, at, end, into, first);
    this.#bounds.widen(into, first, first + taken);
    this.#corners.giveBack(values - taken);
    return taken / 3;
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
/** The bits of an exponent that no number has. */
const NO_NUMBER = 0x7f800000;

/**
 * Reads the words of the corners of the facets in [at, end) into `words`, −0 as 0; gives how many corners. A facet with a
 * coordinate that is no number is left out.
 */
function readWords(view: DataView, at: number, end: number, words: Int32Array): number {
  let k = 0;
  for (let i = at; i < end; i += FACET) {
    const ax = view.getInt32(i + 12, true);
    const ay = view.getInt32(i + 16, true);
    const az = view.getInt32(i + 20, true);
    const bx = view.getInt32(i + 24, true);
    const by = view.getInt32(i + 28, true);
    const bz = view.getInt32(i + 32, true);
    const cx = view.getInt32(i + 36, true);
    const cy = view.getInt32(i + 40, true);
    const cz = view.getInt32(i + 44, true);
    if (isNone(ax) || isNone(ay) || isNone(az) || isNone(bx) || isNone(by)) continue;
    if (isNone(bz) || isNone(cx) || isNone(cy) || isNone(cz)) continue;
    words[k] = withoutSign(ax);
    words[k + 1] = withoutSign(ay);
    words[k + 2] = withoutSign(az);
    words[k + 3] = withoutSign(bx);
    words[k + 4] = withoutSign(by);
    words[k + 5] = withoutSign(bz);
    words[k + 6] = withoutSign(cx);
    words[k + 7] = withoutSign(cy);
    words[k + 8] = withoutSign(cz);
    k += 9;
  }
  return k / 3;
}

/** Whether these are the bits of no number or an infinite one. */
const isNone = (word: number): boolean => (word & NO_NUMBER) === NO_NUMBER;

/** The bits of a number, of 0 where it is −0. */
const withoutSign = (word: number): number => (word === NEGATIVE_ZERO ? 0 : word);

/** Reads the coordinates of the corners of the facets in [at, end) into `into` from `n` on, by the same rules; gives how many. */
function readValues(view: DataView, at: number, end: number, into: Float64Array, n: number): number {
  let k = n;
  for (let i = at; i < end; i += FACET) {
    const ax = view.getFloat32(i + 12, true);
    const ay = view.getFloat32(i + 16, true);
    const az = view.getFloat32(i + 20, true);
    const bx = view.getFloat32(i + 24, true);
    const by = view.getFloat32(i + 28, true);
    const bz = view.getFloat32(i + 32, true);
    const cx = view.getFloat32(i + 36, true);
    const cy = view.getFloat32(i + 40, true);
    const cz = view.getFloat32(i + 44, true);
    // 0 · x is 0 for a number, NaN for the others.
    if (0 * ax + 0 * ay + 0 * az + 0 * bx + 0 * by + 0 * bz + 0 * cx + 0 * cy + 0 * cz !== 0) continue;
    // + 0 makes −0 a 0.
    into[k] = ax + 0;
    into[k + 1] = ay + 0;
    into[k + 2] = az + 0;
    into[k + 3] = bx + 0;
    into[k + 4] = by + 0;
    into[k + 5] = bz + 0;
    into[k + 6] = cx + 0;
    into[k + 7] = cy + 0;
    into[k + 8] = cz + 0;
    k += 9;
  }
  return k - n;
}
