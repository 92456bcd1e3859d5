import { releasable, release } from './releasable.js';

/** Points there is room for at first where nobody knows better. */
const FEW = 1 << 11;

/**
 * Merges points that are equal bit for bit (the caller makes −0 a 0), in the order they come: an open-addressing table with linear
 * probing from the bits of a point to its number, at most half full. Points are held as words of 32 bits, three in single
 * precision (binary STL), six in double (text).
 */
export class VertexMerge {
  readonly #width: 3 | 6;
  /** Words of the points so far. */
  #words: Int32Array;
  /** Number of a point from 1, 0 for a free slot; a power of two of them. */
  #table: Int32Array;
  #mask: number;
  #count = 0;

  /** @param expected points: right from the start saves a seventh of the time, and the copies of growing. */
  constructor(width: 3 | 6, expected: number = FEW) {
    this.#width = width;
    const points = Math.max(expected, FEW);
    this.#words = releasable(Int32Array, width * points);
    this.#table = releasable(Int32Array, 2 ** Math.ceil(Math.log2(2 * points)));
    this.#mask = this.#table.length - 1;
  }

  /** Points so far. */
  get count(): number {
    return this.#count;
  }

  /** The number of the single-precision point with these bits, new or known. */
  single(x: number, y: number, z: number): number {
    const words = this.#words;
    const table = this.#table;
    const mask = this.#mask;
    let slot = hashOfThree(x, y, z) & mask;
    for (;;) {
      const known = table[slot] - 1;
      if (known < 0) break;
      const at = 3 * known;
      if (words[at] === x && words[at + 1] === y && words[at + 2] === z) return known;
      slot = (slot + 1) & mask;
    }
    const at = 3 * this.#count;
    words[at] = x;
    words[at + 1] = y;
    words[at + 2] = z;
    return this.#add(slot);
  }

  /** The number of the double-precision point whose six words stand in `point`, new or known. */
  double(point: Int32Array): number {
    const words = this.#words;
    const table = this.#table;
    const mask = this.#mask;
    let slot = hashOfSix(point, 0) & mask;
    for (;;) {
      const known = table[slot] - 1;
      if (known < 0) break;
      const at = 6 * known;
      let k = 0;
      while (k < 6 && words[at + k] === point[k]) k++;
      if (k === 6) return known;
      slot = (slot + 1) & mask;
    }
    words.set(point, 6 * this.#count);
    return this.#add(slot);
  }

  /** The points, xyz xyz …; nothing can be merged afterwards. */
  take(): Float64Array {
    const values = 3 * this.#count;
    const { buffer } = this.#words;
    release(this.#table);
    const positions =
      this.#width === 6
        ? new Float64Array(buffer, 0, values).slice()
        : new Float64Array(new Float32Array(buffer, 0, values));
    release(this.#words);
    this.#table = new Int32Array(0);
    this.#words = new Int32Array(0);
    return positions;
  }

  /** Counts the point just written as the one in `slot`, and makes room for the next. */
  #add(slot: number): number {
    const width = this.#width;
    this.#table[slot] = ++this.#count;
    if (width * (this.#count + 1) > this.#words.length) {
      const larger = releasable(Int32Array, width * Math.ceil(this.#count * 1.5));
      larger.set(this.#words);
      release(this.#words);
      this.#words = larger;
    }
    if (2 * this.#count > this.#table.length) this.#doubleTable();
    return this.#count - 1;
  }

  #doubleTable(): void {
    const words = this.#words;
    const table = releasable(Int32Array, 2 * this.#table.length);
    const mask = table.length - 1;
    for (let v = 0; v < this.#count; v++) {
      const at = this.#width * v;
      let slot =
        (this.#width === 3 ? hashOfThree(words[at], words[at + 1], words[at + 2]) : hashOfSix(words, at)) & mask;
      while (table[slot] !== 0) slot = (slot + 1) & mask;
      table[slot] = v + 1;
    }
    release(this.#table);
    this.#table = table;
    this.#mask = mask;
  }
}

/** Multipliers of xxHash and Murmur: odd, bits well mixed. */
function hashOfThree(x: number, y: number, z: number): number {
  let h = Math.imul(x, 0x9e3779b1) ^ Math.imul(y, 0x85ebca77) ^ Math.imul(z, 0xc2b2ae3d);
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  return h ^ (h >>> 13);
}

function hashOfSix(words: Int32Array, at: number): number {
  return hashOfThree(
    words[at] ^ Math.imul(words[at + 1], 0x27d4eb2f),
    words[at + 2] ^ Math.imul(words[at + 3], 0x27d4eb2f),
    words[at + 4] ^ Math.imul(words[at + 5], 0x27d4eb2f),
  );
}
