import type { Turning } from './smoothing.js';

/**
 * What growing has reached, and whether it may go on: elements (triangles or points) with their places and normals.
 *
 * The turn per point is measured over a baseline, against an earlier element on the way from the seed at least that far back,
 * and divided by the points between: over single steps noise would hide it.
 */
export class Front {
  /** 1 where an element has its normal, 2 where it is reached. */
  readonly state: Uint8Array;
  readonly places: Float64Array;
  readonly normals: Float32Array;
  /** The elements reached, in order. */
  readonly reached: number[];
  readonly #near: Uint32Array;
  readonly #far: Uint32Array;
  readonly #limits: Turning;
  readonly #spacing: number;
  readonly #baseline: number;
  readonly #total: number;

  /** The seed's place and normal must be set before the first `reach`. */
  constructor(count: number, seed: number, limits: Turning, spacing: number, baseline: number) {
    this.state = new Uint8Array(count);
    this.places = new Float64Array(3 * count);
    this.normals = new Float32Array(3 * count);
    this.#near = new Uint32Array(count);
    this.#far = new Uint32Array(count);
    this.#limits = limits;
    this.#spacing = spacing;
    this.#baseline = baseline;
    this.#total = chord(limits.turnTotal);
    this.reached = [seed];
    this.state[seed] = 2;
    this.#near[seed] = this.#far[seed] = seed;
  }

  /** Takes an element that has place and normal, if the surface does not turn too much on the way to it from a reached one. */
  reach(element: number, from: number): boolean {
    const seed = this.reached[0];
    const near = this.#near[from];
    const isBeyond = this.#between(element, near) >= this.#baseline;
    const far = isBeyond ? near : this.#far[from];
    if (this.#turn(element, seed) > this.#total) return false;
    const steps = Math.max(1, this.#between(element, far) / this.#spacing);
    if (this.#turn(element, far) > chord(this.#limits.turnStep * steps)) return false;
    this.#far[element] = far;
    this.#near[element] = isBeyond ? element : near;
    this.state[element] = 2;
    this.reached.push(element);
    return true;
  }

  #between(a: number, b: number): number {
    const { places } = this;
    const x = places[3 * a] - places[3 * b];
    const y = places[3 * a + 1] - places[3 * b + 1];
    const z = places[3 * a + 2] - places[3 * b + 2];
    return Math.sqrt(x * x + y * y + z * z);
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
const chord = (angle: number): number => (angle >= Math.PI ? Infinity : 2 * Math.sin(angle / 2) + 1e-6);
