import { LocalPlane } from '../scan/local-plane.js';

/** Points of a scan in cubes of one size, each cube with the plane through its points. */
export interface Cells {
  /** Side, mm. */
  readonly side: number;
  readonly size: number;
  /** Cell of each of the points looked at. */
  readonly of: Int32Array;
  readonly count: Float64Array;
  /** Place of the cell in the grid, three a cell. */
  readonly at: Int32Array;
  /** Middle of its points, three a cell, mm. */
  readonly middle: Float64Array;
  /** Unit normal of the plane through its points, three a cell, either way around; zeros where they are in no plane. */
  readonly normal: Float64Array;
  /** Root mean square off that plane, mm. */
  readonly thickness: Float64Array;
  /** Cell by its place in the grid; −1 where there is none. */
  find(x: number, y: number, z: number): number;
}

/** Points a cell has on average. */
const POINTS = 30;
/** A cell with fewer says nothing of its plane. */
const LEAST = 8;
const MOMENTS = 10;

/**
 * Cut points into cubes that hold some {@link POINTS} of them each.
 *
 * @param positions xyz xyz …, mm
 * @param points indices of the points looked at
 */
export function cellsOf(positions: Float64Array, points: Uint32Array): Cells | undefined {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < points.length; i++) {
    const p = 3 * points[i];
    for (let k = 0; k < 3; k++) {
      const x = positions[p + k];
      if (x < low[k]) low[k] = x;
      if (x > high[k]) high[k] = x;
    }
  }
  const diagonal = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  if (!(diagonal > 0 && Number.isFinite(diagonal))) return undefined;
  // Of a surface the cells grow fewer as the square of their side.
  let side = diagonal / 64;
  for (let k = 0; k < 3; k++) {
    const occupied = Grid.count(positions, points, low, side);
    const wanted = side * Math.sqrt((POINTS * occupied) / points.length);
    const isNear = wanted > 0.8 * side && wanted < 1.25 * side;
    side = Math.max(wanted, diagonal / 2 ** 19);
    if (isNear) break;
  }
  return fill(positions, points, low, side);
}

/** Cells by their place, in a hash table with open addressing. */
class Grid {
  readonly #low: readonly number[];
  readonly #side: number;
  #slots = new Int32Array(1 << 16).fill(-1);
  #at = new Int32Array(3 * (1 << 15));
  count = 0;

  constructor(low: readonly number[], side: number) {
    this.#low = low;
    this.#side = side;
  }

  static count(positions: Float64Array, points: Uint32Array, low: readonly number[], side: number): number {
    const grid = new Grid(low, side);
    for (let i = 0; i < points.length; i++) grid.add(positions, 3 * points[i]);
    return grid.count;
  }

  get at(): Int32Array {
    return this.#at.slice(0, 3 * this.count);
  }

  add(positions: Float64Array, p: number): number {
    const perSide = 1 / this.#side;
    const x = Math.floor((positions[p] - this.#low[0]) * perSide);
    const y = Math.floor((positions[p + 1] - this.#low[1]) * perSide);
    const z = Math.floor((positions[p + 2] - this.#low[2]) * perSide);
    const slot = this.#slotOf(x, y, z);
    if (this.#slots[slot] >= 0) return this.#slots[slot];
    const cell = this.count++;
    this.#slots[slot] = cell;
    this.#at.set([x, y, z], 3 * cell);
    if (2 * this.count >= this.#slots.length) this.#grow();
    return cell;
  }

  find(x: number, y: number, z: number): number {
    return this.#slots[this.#slotOf(x, y, z)];
  }

  #slotOf(x: number, y: number, z: number): number {
    const mask = this.#slots.length - 1;
    let h = Math.imul(x, 0x8da6b343) ^ Math.imul(y, 0xd8163841) ^ Math.imul(z, 0xcb1ab31f);
    h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
    for (let slot = (h ^ (h >>> 13)) & mask; ; slot = (slot + 1) & mask) {
      const c = 3 * this.#slots[slot];
      if (c < 0 || (this.#at[c] === x && this.#at[c + 1] === y && this.#at[c + 2] === z)) return slot;
    }
  }

  #grow(): void {
    const at = new Int32Array(2 * this.#at.length);
    at.set(this.#at);
    this.#at = at;
    this.#slots = new Int32Array(2 * this.#slots.length).fill(-1);
    for (let c = 0; c < this.count; c++) this.#slots[this.#slotOf(at[3 * c], at[3 * c + 1], at[3 * c + 2])] = c;
  }
}

function fill(positions: Float64Array, points: Uint32Array, low: readonly number[], side: number): Cells {
  const grid = new Grid(low, side);
  const of = new Int32Array(points.length);
  for (let i = 0; i < points.length; i++) of[i] = grid.add(positions, 3 * points[i]);
  const { at, count: size } = grid;
  const moments = new Float64Array(MOMENTS * size);
  for (let i = 0; i < points.length; i++) {
    const c = of[i];
    const p = 3 * points[i];
    const m = MOMENTS * c;
    const x = positions[p] - low[0] - side * at[3 * c];
    const y = positions[p + 1] - low[1] - side * at[3 * c + 1];
    const z = positions[p + 2] - low[2] - side * at[3 * c + 2];
    moments[m]++;
    moments[m + 1] += x;
    moments[m + 2] += y;
    moments[m + 3] += z;
    moments[m + 4] += x * x;
    moments[m + 5] += x * y;
    moments[m + 6] += x * z;
    moments[m + 7] += y * y;
    moments[m + 8] += y * z;
    moments[m + 9] += z * z;
  }
  const count = new Float64Array(size);
  const middle = new Float64Array(3 * size);
  const normal = new Float64Array(3 * size);
  const thickness = new Float64Array(size);
  const plane = new LocalPlane();
  for (let c = 0; c < size; c++) {
    const own = moments.subarray(MOMENTS * c, MOMENTS * (c + 1));
    count[c] = own[0];
    for (let k = 0; k < 3; k++) middle[3 * c + k] = low[k] + side * at[3 * c + k] + own[k + 1] / own[0];
    if (own[0] < LEAST || !plane.solveMoments(own)) continue;
    normal[3 * c] = plane.nx;
    normal[3 * c + 1] = plane.ny;
    normal[3 * c + 2] = plane.nz;
    thickness[c] = plane.rms;
  }
  return { side, size, of, count, at, middle, normal, thickness, find: (x, y, z) => grid.find(x, y, z) };
}
