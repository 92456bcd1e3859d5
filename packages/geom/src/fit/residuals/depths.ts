import type { Cells } from './cells.js';

/** Empty cells that hang together, so many or more, are outside; fewer are chance. */
const LEAST_HOLE = 6;
const FAR = 1e9;

/**
 * How deep each cell lies within the region, in sides of a cell from the border: 0 to 1 for those at the border, that of a hole too.
 * Distances by steps straight and aslant (Borgefors, Computer Vision, Graphics, and Image Processing 34 (1986) 344).
 *
 * @param isRound whether the first column lies beside the last
 */
export function depthsOf({ columns, rows, place }: Cells, isRound: boolean): Float64Array {
  const wide = columns + 2;
  const tall = rows + 2;
  const depth = new Float64Array(wide * tall);
  const at = Int32Array.from(place, (g) => (g % columns) + 1 + wide * (Math.floor(g / columns) + 1));
  for (const g of at) depth[g] = FAR;
  for (const hole of holesOf(depth, wide)) if (hole.length < LEAST_HOLE) for (const g of hole) depth[g] = FAR;
  const near = (g: number, ways: readonly number[]): void => {
    for (const way of ways) {
      const step = Math.abs(way) === 1 || Math.abs(way) === wide ? 1 : Math.SQRT2;
      if (depth[g + way] + step < depth[g]) depth[g] = depth[g + way] + step;
    }
  };
  const join = (): void => {
    for (let row = 0; isRound && row < tall; row++) {
      depth[row * wide] = row === 0 || row === tall - 1 ? 0 : depth[row * wide + columns];
      depth[row * wide + wide - 1] = row === 0 || row === tall - 1 ? 0 : depth[row * wide + 1];
    }
  };
  // A second time round, for what comes over the seam.
  for (let pass = 0; pass < (isRound ? 2 : 1); pass++) {
    join();
    for (let g = wide + 1; g < wide * (tall - 1) - 1; g++) if (depth[g] > 0) near(g, [-1, -wide, -wide - 1, -wide + 1]);
    join();
    for (let g = wide * (tall - 1) - 2; g > wide; g--) if (depth[g] > 0) near(g, [1, wide, wide + 1, wide - 1]);
  }
  return Float64Array.from(at, (g) => depth[g] - 0.5);
}

/** Empty cells by what hangs together. */
function holesOf(depth: Float64Array, wide: number): number[][] {
  const seen = new Uint8Array(depth.length);
  const holes: number[][] = [];
  for (let from = 0; from < depth.length; from++) {
    if (depth[from] > 0 || seen[from]) continue;
    const hole = [from];
    seen[from] = 1;
    for (let k = 0; k < hole.length; k++) {
      const g = hole[k];
      for (const next of [g - 1, g + 1, g - wide, g + wide]) {
        if (next < 0 || next >= depth.length || depth[next] > 0 || seen[next]) continue;
        if (Math.abs((next % wide) - (g % wide)) > 1) continue;
        seen[next] = 1;
        hole.push(next);
      }
    }
    holes.push(hole);
  }
  return holes;
}
