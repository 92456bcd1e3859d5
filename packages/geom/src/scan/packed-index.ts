import { FettleError } from '../error.js';
import { countText } from '../text/number-text.js';
import type { SpatialIndex } from './place-questions.js';
import { adoptPointTree, type PointTree, pointTree } from './point-index.js';
import type { Mesh, Scan } from './scan.js';
import { scanName } from './scan-name.js';
import { adoptTriangleTree, type TriangleTree, triangleTree } from './triangle-index.js';

/** A spatial index as plain arrays that pass between threads, without the scan's own. */
export type PackedIndex =
  | ({ readonly elements: 'triangles' } & TriangleTree)
  | ({ readonly elements: 'points' } & PointTree);

/**
 * Builds the index of a scan, over its triangles or else its (selected) points, as arrays to be sent to the thread that has the
 * scan: of 4.5 M triangles in 2 to 3 s, which a page or a program that goes on meanwhile leaves to a worker. There
 * {@link unpackIndex} makes the index of it.
 */
export function packIndex(scan: Scan): PackedIndex {
  return scan.triangles
    ? { elements: 'triangles', ...triangleTree(scan as Mesh) }
    : { elements: 'points', ...pointTree(scan) };
}

/** The memory of a packed index, to be transferred with it in place of a copy. */
export const memoryOfIndex = ({ tree, inOrder }: PackedIndex): ArrayBuffer[] =>
  [tree.boxes, tree.skip, tree.start, tree.count, tree.order, inOrder].map((array) => array.buffer as ArrayBuffer);

/**
 * The index of a scan from what {@link packIndex} built for it elsewhere, at once; from then on it is the one that
 * `spatialIndex` gives for the scan.
 *
 * @throws FettleError `index-of-another` where the index is not of as many triangles or points as the scan has
 */
export function unpackIndex(scan: Scan, packed: PackedIndex): SpatialIndex {
  const elements = scan.triangles ? 'triangles' : 'points';
  const count = scan.triangles ? scan.triangles.length / 3 : (scan.select?.length ?? scan.positions.length / 3);
  if (packed.elements !== elements || packed.tree.order.length !== count)
    throw new FettleError(
      'index-of-another',
      `${scanName(scan)}: an index of ${countText(packed.tree.order.length)} ${packed.elements} is not that of a scan of ` +
        `${countText(count)} ${elements}. Build it of this scan.`,
    );
  return packed.elements === 'triangles' ? adoptTriangleTree(scan as Mesh, packed) : adoptPointTree(scan, packed);
}
