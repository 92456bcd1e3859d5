/** The few points of a plane an exchange works on: places in the whole, no two points at one spot. */
export class Subset {
  readonly #xy: Float64Array;
  readonly #spots = new Set<string>();
  readonly places: number[] = [];

  /** @param xy xy xy …, mm: the whole */
  constructor(xy: Float64Array, places: Iterable<number>) {
    this.#xy = xy;
    for (const i of places) this.add(i);
  }

  /** False when the spot was there already. */
  add(i: number): boolean {
    const spot = `${this.#xy[2 * i]},${this.#xy[2 * i + 1]}`;
    if (this.#spots.has(spot)) return false;
    this.#spots.add(spot);
    this.places.push(i);
    return true;
  }

  get xy(): Float64Array {
    const part = new Float64Array(2 * this.places.length);
    for (let k = 0; k < this.places.length; k++) {
      part[2 * k] = this.#xy[2 * this.places[k]];
      part[2 * k + 1] = this.#xy[2 * this.places[k] + 1];
    }
    return part;
  }
}
