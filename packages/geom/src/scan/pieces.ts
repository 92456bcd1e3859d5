import { DisjointSets } from './disjoint-sets.js';
import type { Scan } from './scan.js';
import { triangleArea } from './triangle-normal.js';

/** One connected piece of a mesh. */
export interface Piece {
  readonly points: number;
  readonly triangles: number;
  /** mm² */
  readonly area: number;
}

export interface Pieces {
  /** Largest area first. */
  readonly pieces: readonly Piece[];
  /** For each point the place of its piece in `pieces`, {@link noPiece} where no triangle has it as a corner. */
  readonly labels: Uint32Array;
}

/** The label of points that belong to no piece. */
export const noPiece = 0xffffffff;

/**
 * The connected pieces of a mesh: triangles that share a point, by its index, hang together. A cloud has none.
 *
 * One union-find over the corners. On 4.5 M triangles it takes 0.2 s; depth-first walks, which need the triangles about
 * each point first, took 0.4 s.
 */
export function pieces(scan: Scan): Pieces {
  const { positions } = scan;
  const triangles = scan.triangles ?? new Uint32Array();
  const count = positions.length / 3;
  const sets = new DisjointSets(count);
  for (let c = 0; c < triangles.length; c += 3) {
    sets.merge(triangles[c], triangles[c + 1]);
    sets.merge(triangles[c], triangles[c + 2]);
  }
  // Numbers for the sets, in the order of their first points.
  const labels = new Uint32Array(count).fill(noPiece);
  const areas: number[] = [];
  const sizes: number[] = [];
  for (let t = 0; t < triangles.length / 3; t++) {
    const root = sets.find(triangles[3 * t]);
    if (labels[root] === noPiece) {
      labels[root] = areas.length;
      areas.push(0);
      sizes.push(0);
    }
    areas[labels[root]] += triangleArea(positions, triangles, t);
    sizes[labels[root]]++;
  }
  const points = areas.map(() => 0);
  const order = areas.map((_, i) => i).sort((i, j) => areas[j] - areas[i] || sizes[j] - sizes[i] || i - j);
  const rank = new Uint32Array(order.length);
  for (const [r, i] of order.entries()) rank[i] = r;
  for (let p = 0; p < count; p++) {
    const root = sets.find(p);
    if (root === p) {
      if (labels[p] !== noPiece) labels[p] = rank[labels[p]];
    } else labels[p] = labels[root];
    if (labels[p] !== noPiece) points[labels[p]]++;
  }
  return {
    pieces: order.map((i, r) => ({ points: points[r], triangles: sizes[i], area: areas[i] })),
    labels,
  };
}
