import type { Vec3 } from '../math/vec3.js';

export interface Cell {
  /** Number of the cell in its grid. */
  readonly c: number;
  readonly at: Vec3;
  weight: number;
}

/** Halve cells across their longest side, and the halves again, into at most `most` groups of about equal weight. */
export function halve(cells: Cell[], most: number): Cell[][] {
  if (cells.length <= 1 || most <= 1) return [cells];
  let axis = 0;
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
      axis = a;
    }
  }
  const order = cells.slice().sort((p, q) => p.at[axis] - q.at[axis] || p.c - q.c);
  let total = 0;
  for (const cell of order) total += cell.weight;
  const firstMost = most >> 1;
  const wanted = (total * firstMost) / most;
  let cut = 0;
  for (let had = 0; cut < order.length - 1 && (cut === 0 || had + order[cut].weight / 2 < wanted); cut++)
    had += order[cut].weight;
  return [...halve(order.slice(0, cut), firstMost), ...halve(order.slice(cut), most - firstMost)];
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
    [u * u, v * v, w * w, u * v, u * w, v * w].forEach((x, k) => {
      spread[k] += weight * x;
    });
  }
  return { middle, spread, count: total };
}
