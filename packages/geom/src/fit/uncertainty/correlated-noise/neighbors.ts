import { distance as between, type Vec3 } from '../../../math/vec3.js';
import type { CellOfPatch, Patches } from './patches.js';

/**
 * How far apart the points of neighboring patches are, by their cells: noise of a length well below a patch joins only what lies on
 * either side of their border, which the patches' parts are too coarse to tell.
 */
export interface Neighbors {
  /** Where the distances of each pair (g, h < g) start, pairs in the order g(g+1)/2 + h; equal to the next where they are no neighbors. */
  readonly first: Uint32Array;
  readonly distance: Float32Array;
  /** Share of the pair's points that are so far apart. */
  readonly weight: Float32Array;
}

/** Patches are neighbors whose middles are no farther apart than this, in distances to the nearest. */
const NEAR = 1.7;
/** How finely the distances of a pair are kept apart. */
const BINS = 32;

export function neighborsOf(patches: Patches, middles: readonly Vec3[], spacing: number): Neighbors {
  const { size, cells, isCurve, within } = patches;
  const [inCell] = within;
  let square = 0;
  for (let q = 0; q < inCell.distance.length; q++) square += inCell.weight[q] * inCell.distance[q] ** 2;
  // Two points of a cell are √(2·variance) apart, in every direction the points spread; of two cells there are two variances.
  const along = isCurve ? square : square / 2;
  const aside = square - along;
  const give = Math.sqrt(along);
  const first = new Uint32Array((size * (size + 1)) / 2 + 1);
  const distance: number[] = [];
  const weight: number[] = [];
  const apart = new Float64Array(Math.max(...cells.map((own) => own.length)) ** 2);
  const sums = new Float64Array(BINS);
  const shares = new Float64Array(BINS);
  const lay = (own: readonly CellOfPatch[], other: readonly CellOfPatch[]): void => {
    let least = Infinity;
    let most = 0;
    let n = 0;
    for (const { middle: p } of own) {
      for (const { middle: q } of other) {
        const x = p[0] - q[0];
        const y = p[1] - q[1];
        const z = p[2] - q[2];
        const d = Math.sqrt(x * x + y * y + z * z);
        if (d < least) least = d;
        if (d > most) most = d;
        apart[n++] = d;
      }
    }
    const perBin = most > least ? (BINS - 1) / (most - least) : 0;
    sums.fill(0);
    shares.fill(0);
    n = 0;
    for (const { share: p } of own) {
      for (const { share: q } of other) {
        const d = apart[n++];
        const b = ((d - least) * perBin) | 0;
        sums[b] += d * p * q;
        shares[b] += p * q;
      }
    }
    for (let b = 0; b < BINS; b++) {
      if (shares[b] === 0) continue;
      const d = sums[b] / shares[b];
      distance.push(Math.sqrt((d - give) ** 2 + aside), Math.sqrt((d + give) ** 2 + aside));
      weight.push(shares[b] / 2, shares[b] / 2);
    }
  };
  let pair = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h <= g; h++) {
      if (h < g && between(middles[g], middles[h]) < NEAR * spacing) lay(cells[g], cells[h]);
      first[++pair] = distance.length;
    }
  }
  return { first, distance: Float32Array.from(distance), weight: Float32Array.from(weight) };
}
