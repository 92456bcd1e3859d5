/** Flat points (xy xy …) by the square cells they are in, to visit those about a place. */
export class FlatGrid {
  readonly #flat: Float64Array;
  readonly #cell: number;
  readonly #cells = new Map<number, number[]>();

  constructor(flat: Float64Array, cell: number) {
    this.#flat = flat;
    this.#cell = cell;
  }

  add(i: number): void {
    const key = this.#key(Math.floor(this.#flat[2 * i] / this.#cell), Math.floor(this.#flat[2 * i + 1] / this.#cell));
    const there = this.#cells.get(key);
    if (there) there.push(i);
    else this.#cells.set(key, [i]);
  }

  /** Calls for each point no farther than `reach` from a place, with its squared distance. */
  visit(x: number, y: number, reach: number, call: (i: number, squared: number) => void): void {
    const flat = this.#flat;
    const c = this.#cell;
    for (let a = Math.floor((x - reach) / c); a <= Math.floor((x + reach) / c); a++)
      for (let b = Math.floor((y - reach) / c); b <= Math.floor((y + reach) / c); b++)
        for (const i of this.#cells.get(this.#key(a, b)) ?? []) {
          const squared = (flat[2 * i] - x) ** 2 + (flat[2 * i + 1] - y) ** 2;
          if (squared <= reach * reach) call(i, squared);
        }
  }

  #key(a: number, b: number): number {
    return a * SIDE + b;
  }
}

/** More cells than any side has. */
const SIDE = 2 ** 26;
