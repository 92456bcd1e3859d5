import { FettleError } from '../error.js';
import { DisjointSets } from './disjoint-sets.js';
import type { Pieces } from './pieces.js';
import { pointIndex } from './point-index.js';
import type { Scan } from './scan.js';
import { scanName } from './scan-name.js';
import { pointSpacing } from './spacing.js';

/** Point spacings over which points hang together unless told otherwise. */
const GAP = 4;

/**
 * The pieces of a cloud: points no farther apart than `gap` mm hang together, over as many others as it takes. Default four point
 * spacings. Most points first; without triangles their areas are 0.
 *
 * @throws FettleError `pieces-gap` for a gap that is not above 0
 */
export function cloudPieces(scan: Scan, gap?: number): Pieces {
  const { select: _, ...all } = scan;
  const reach = gap ?? GAP * pointSpacing(all);
  if (!(reach > 0 && reach < Infinity) && gap !== undefined)
    throw new FettleError(
      'pieces-gap',
      `${scanName(scan)}: points hang together over a distance above 0 mm, not ${gap}. Give some times the point spacing.`,
    );
  const { positions } = scan;
  const count = positions.length / 3;
  const sets = new DisjointSets(count);
  const index = pointIndex(all);
  for (let p = 0; p < count; p++)
    index.eachWithin(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2], reach, (q) => {
      if (q < p) sets.merge(q, p);
    });
  const sizes = new Map<number, number>();
  for (let p = 0; p < count; p++) sizes.set(sets.find(p), (sizes.get(sets.find(p)) ?? 0) + 1);
  const order = [...sizes].sort(([a, m], [b, n]) => n - m || a - b);
  const rank = new Map(order.map(([root], r) => [root, r]));
  return {
    pieces: order.map(([, points]) => ({ points, triangles: 0, area: 0 })),
    labels: Uint32Array.from({ length: count }, (_, p) => rank.get(sets.find(p))!),
  };
}
