/**
 * Gives pairs of numbers below 2³² consecutive numbers of their own, from 0 in the order they are first met: a hash table with
 * open addressing, which grows by doubling. (60,000 look-ups of 30,000 pairs: 0.7 ms; a Map keyed by a · 2³² + b took 2.7 ms.)
 */
export class PairNumbers {
  /** The pairs, by number. */
  first: Uint32Array;
  second: Uint32Array;
  count = 0;
  #slots: Int32Array;

  constructor(expected: number) {
    const room = 2 ** Math.ceil(Math.log2(Math.max(16, expected)));
    this.first = new Uint32Array(room);
    this.second = new Uint32Array(room);
    this.#slots = new Int32Array(2 * room).fill(-1);
  }

  /** The number of the pair (a, b); (b, a) is another. */
  numberOf(a: number, b: number): number {
    const mask = this.#slots.length - 1;
    let slot = hash(a, b) & mask;
    for (let n = this.#slots[slot]; n >= 0; n = this.#slots[slot]) {
      if (this.first[n] === a && this.second[n] === b) return n;
      slot = (slot + 1) & mask;
    }
    if (this.count === this.first.length) {
      this.#grow();
      return this.numberOf(a, b);
    }
    this.first[this.count] = a;
    this.second[this.count] = b;
    this.#slots[slot] = this.count;
    return this.count++;
  }

  #grow(): void {
    const { first, second } = this;
    this.first = new Uint32Array(2 * first.length);
    this.second = new Uint32Array(2 * first.length);
    this.first.set(first);
    this.second.set(second);
    this.#slots = new Int32Array(4 * first.length).fill(-1);
    const mask = this.#slots.length - 1;
    for (let n = 0; n < this.count; n++) {
      let slot = hash(first[n], second[n]) & mask;
      while (this.#slots[slot] >= 0) slot = (slot + 1) & mask;
      this.#slots[slot] = n;
    }
  }
}

function hash(a: number, b: number): number {
  let h = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca77);
  h ^= h >>> 15;
  h = Math.imul(h, 0x2c1b3c6d);
  return h ^ (h >>> 13);
}
