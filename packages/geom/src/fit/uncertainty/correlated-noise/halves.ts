import type { Vec3 } from '../../../math/vec3.js';

export interface Cell {
  /** Number of the cell in its grid. */
  readonly c: number;
  /** Whole numbers. */
  readonly at: Vec3;
  weight: number;
}

/** Halve cells across their longest side, and the halves again, into at most `most` groups of about equal weight. */
export function halve(cells: readonly Cell[], most: number): (readonly Cell[])[] {
  if (cells.length <= 1 || most <= 1) return [cells];
  let axis = 0;
  let lowest = 0;
  let longest = -1;
  for (let a = 0; a < 3; a++) {
    let low = Infinity;
    let high = -Infinity;
    for (const { at } of cells) {
      if (at[a] < low) low = at[a];
      if (at[a] > high) high = at[a];
    }
    if (high - low > longest) {
      longest = high - low;
      lowest = low;
      axis = a;
    }
  }
  const order = alongAxis(cells, axis, lowest, longest);
  let total = 0;
  for (const { weight } of cells) total += weight;
  const firstMost = most >> 1;
  const wanted = (total * firstMost) / most;
  const isFirst = new Uint8Array(cells.length);
  let cut = 0;
  for (let had = 0; cut < order.length - 1; cut++) {
    const { weight } = cells[order[cut]];
    if (cut > 0 && had + weight / 2 >= wanted) break;
    had += weight;
    isFirst[order[cut]] = 1;
  }
  const first: Cell[] = [];
  const second: Cell[] = [];
  for (let i = 0; i < cells.length; i++) (isFirst[i] === 1 ? first : second).push(cells[i]);
  return [...halve(first, firstMost), ...halve(second, most - firstMost)];
}

/** The cells' places in their list, sorted by where they lie along an axis (by counting: these are few whole numbers). */
function alongAxis(cells: readonly Cell[], axis: number, low: number, extent: number): Uint32Array {
  const start = new Uint32Array(extent + 2);
  for (const { at } of cells) start[at[axis] - low + 1]++;
  for (let k = 1; k < start.length; k++) start[k] += start[k - 1];
  const order = new Uint32Array(cells.length);
  for (let i = 0; i < cells.length; i++) order[start[cells[i].at[axis] - low]++] = i;
  return order;
}

/** Middle and covariance of the points of some cells, each taken for its own middle. */
export function momentsOf(
  part: readonly Cell[],
  count: Float64Array,
  place: Float64Array,
): { middle: Vec3; spread: number[]; count: number } {
  let total = 0;
  const middle: [number, number, number] = [0, 0, 0];
  for (const { c } of part) {
    total += count[c];
    for (let a = 0; a < 3; a++) middle[a] += place[3 * c + a];
  }
  for (let a = 0; a < 3; a++) middle[a] /= total;
  const spread = new Array<number>(6).fill(0);
  for (const { c } of part) {
    const weight = count[c] / total;
    const u = place[3 * c] / count[c] - middle[0];
    const v = place[3 * c + 1] / count[c] - middle[1];
    const w = place[3 * c + 2] / count[c] - middle[2];
    spread[0] += weight * u * u;
    spread[1] += weight * v * v;
    spread[2] += weight * w * w;
    spread[3] += weight * u * v;
    spread[4] += weight * u * w;
    spread[5] += weight * v * w;
  }
  return { middle, spread, count: total };
}
