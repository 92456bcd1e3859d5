/**
 * Numbers for places, in the order they are first met: places are the same if their three coordinates are (0 and -0 are).
 * A hash table with open addressing over typed arrays.
 */
export class PlaceTable {
  readonly #coordinates: Float64Array;
  readonly #slots: Int32Array;
  readonly #mask: number;
  /** How many different places were met. */
  count = 0;

  /** @param room how many different places there can be at most */
  constructor(room: number) {
    let size = 16;
    while (size < 2 * room) size *= 2;
    this.#slots = new Int32Array(size).fill(-1);
    this.#mask = size - 1;
    this.#coordinates = new Float64Array(3 * room);
  }

  number(x: number, y: number, z: number): number {
    const known = this.#coordinates;
    const slots = this.#slots;
    for (let slot = hash(x, y, z) & this.#mask; ; slot = (slot + 1) & this.#mask) {
      const i = slots[slot];
      if (i < 0) {
        slots[slot] = this.count;
        known[3 * this.count] = x;
        known[3 * this.count + 1] = y;
        known[3 * this.count + 2] = z;
        return this.count++;
      }
      if (known[3 * i] === x && known[3 * i + 1] === y && known[3 * i + 2] === z) return i;
    }
  }
}

const doubles = new Float64Array(3);
const words = new Uint32Array(doubles.buffer);

function hash(x: number, y: number, z: number): number {
  // Adding 0 turns -0 into 0.
  doubles[0] = x + 0;
  doubles[1] = y + 0;
  doubles[2] = z + 0;
  let h = 0;
  for (let i = 0; i < 6; i++) {
    h = Math.imul(h ^ words[i], 0x85ebca6b);
    h ^= h >>> 15;
  }
  return h;
}
