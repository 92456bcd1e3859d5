import type { Turning } from './smoothing.js';

/** What is known of an element while a region grows. */
export const unseen = 0;
/** It has its place and normal and waits for its turn. */
export const waiting = 1;
export const reached = 2;
/** It was turned down from where it was met, but may be met from elsewhere. */
export const turnedDown = 3;
export const left = 4;

/**
 * The rim of a growing region: its elements (triangles or points) with their places and normals, and whether the next may be
 * taken in.
 *
 * Where normals are not averaged a step is a step, from any neighbor that is reached. Where they are, over a radius, single steps
 * say little: an element is weighed once, against what is reached half a radius to a radius away, or rather against posts, reached
 * elements a third of the radius apart. The turn to each, divided by the points between, must be no more than a step's.
 *
 * Tried: weighing it against one earlier element, a radius back on its own way from the seed. Growing then climbs fillets aslant,
 * along which the surface turns as little as you please, and it got over sharp edges of bores.
 */
export class Front {
  readonly state: Uint8Array;
  readonly places: Float64Array;
  readonly normals: Float32Array;
  readonly #seed: number;
  readonly #spacing: number;
  readonly #radius: number;
  readonly #step: number;
  readonly #total: number;
  /** Elements that were turned down, by the limit they passed. */
  readonly #past: { readonly turn: number[]; readonly spread: number[] } = { turn: [], spread: [] };
  readonly #posts = new Map<number, number[]>();

  /**
   * @param places of the elements, xyz xyz …: each must be there when the element is decided on
   * @param radius the one normals are averaged over, 0 for none
   */
  constructor(places: Float64Array, seed: number, limits: Turning, spacing: number, radius: number) {
    this.state = new Uint8Array(places.length / 3);
    this.places = places;
    this.normals = new Float32Array(places.length);
    this.#seed = seed;
    this.#spacing = spacing;
    this.#radius = radius;
    this.#step = limits.turnStep;
    this.#total = chord(limits.turnTotal);
  }

  /** Takes in the seed; its normal must be set. */
  begin(): void {
    this.state[this.#seed] = reached;
    if (this.#radius > 0) this.#fits(this.#seed);
  }

  /** Takes an element in, or not; its normal must be set. `near` are its neighbors, `count` of them. */
  decide(element: number, near: ArrayLike<number>, count: number): boolean {
    const isWithin = this.#turn(element, this.#seed) <= this.#total;
    const isTaken = isWithin && this.#isSmooth(element, near, count);
    this.state[element] = isTaken ? reached : this.#radius > 0 ? left : turnedDown;
    if (!isTaken) this.#past[isWithin ? 'turn' : 'spread'].push(element);
    return isTaken;
  }

  /** The elements growing ended at because the surface turns too much: from point to point, or from the seed. */
  turnedDown(): { readonly turn: readonly number[]; readonly spread: readonly number[] } {
    const still = (elements: readonly number[]) =>
      Array.from(new Set(elements)).filter((element) => this.state[element] !== reached);
    return { turn: still(this.#past.turn), spread: still(this.#past.spread) };
  }

  #isSmooth(element: number, near: ArrayLike<number>, count: number): boolean {
    if (this.#radius > 0) return this.#fits(element);
    for (let i = 0; i < count; i++)
      if (this.state[near[i]] === reached && this.#turn(element, near[i]) <= chord(this.#step)) return true;
    return false;
  }

  /** Weighs an element against the posts about it; if it is taken in and none is near, it becomes one. */
  #fits(element: number): boolean {
    const { places } = this;
    const radius = this.#radius;
    const x = places[3 * element];
    const y = places[3 * element + 1];
    const z = places[3 * element + 2];
    const i0 = Math.floor(x / radius);
    const j0 = Math.floor(y / radius);
    const k0 = Math.floor(z / radius);
    let isPost = true;
    for (let i = i0 - 1; i <= i0 + 1; i++)
      for (let j = j0 - 1; j <= j0 + 1; j++)
        for (let k = k0 - 1; k <= k0 + 1; k++) {
          const posts = this.#posts.get(cell(i, j, k));
          if (!posts) continue;
          for (let n = 0; n < posts.length; n++) {
            const post = posts[n];
            const dx = places[3 * post] - x;
            const dy = places[3 * post + 1] - y;
            const dz = places[3 * post + 2] - z;
            const between = Math.sqrt(dx * dx + dy * dy + dz * dz);
            if (3 * between < radius) isPost = false;
            if (between > radius || 2 * between < radius) continue;
            const steps = between > this.#spacing ? between / this.#spacing : 1;
            if (this.#turn(element, post) > chord(this.#step * steps)) return false;
          }
        }
    if (isPost) {
      const key = cell(i0, j0, k0);
      const posts = this.#posts.get(key);
      if (posts) posts.push(element);
      else this.#posts.set(key, [element]);
    }
    return true;
  }

  /** The distance between the tips of two normals: monotonic in the angle, and exact where that is small. */
  #turn(a: number, b: number): number {
    const { normals } = this;
    const x = normals[3 * a] - normals[3 * b];
    const y = normals[3 * a + 1] - normals[3 * b + 1];
    const z = normals[3 * a + 2] - normals[3 * b + 2];
    return Math.sqrt(x * x + y * y + z * z);
  }
}

/** The distance between the tips of unit vectors at an angle, with room for the rounding of single precision. */
const chord = (angle: number): number => (angle >= Math.PI ? 3 : 2 * Math.sin(angle / 2) + 1e-6);

/** One number for a cell of space. Cells that share one only make for posts too far off to count. */
const cell = (i: number, j: number, k: number): number =>
  (Math.imul(i, 73856093) ^ Math.imul(j, 19349663) ^ Math.imul(k, 83492791)) | 0;
