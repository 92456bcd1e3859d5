import { FettleError } from '../error.js';
import { marked } from '../math/marks.js';
import { bounds } from '../scan/bounds.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { PlaceTable } from './place-table.js';
import { keepMarked, type Prepared } from './prepared.js';

export interface ThinOptions {
  /** Edge of the cubes that keep one point each, mm. They are along the scan's axes, from its least x, y and z. */
  readonly cell: number;
  /** The point nearest to the mean of those in the cell, as it was scanned, or the mean itself. Default `nearest`. */
  readonly keep?: 'nearest' | 'mean';
}

/**
 * Thins a cloud: of the points in each cell one is left. With `mean`, normals and colors are averaged too, and the point that is
 * nearest to the mean is the one it stands for.
 *
 * @throws FettleError `prepare-mesh` for a mesh, which is simplified instead; `prepare-limit` for a cell that is not above 0
 */
export function thin(cloud: Scan, { cell, keep = 'nearest' }: ThinOptions): Prepared {
  if (cloud.triangles)
    throw new FettleError('prepare-mesh', `${scanName(cloud)}: clouds are thinned, and this is a mesh. Simplify it.`);
  if (!(cell > 0 && cell < Infinity))
    throw new FettleError(
      'prepare-limit',
      `${scanName(cloud)}: cells of ${cell} mm hold nothing. Give an edge above 0.`,
    );
  const { positions } = cloud;
  const [cellOf, cells] = cellsOf(positions, cell);
  const means = meansOf(positions, cellOf, cells);
  const nearest = nearestToMeans(positions, cellOf, means);
  const marks = new Uint8Array(positions.length / 3);
  for (const p of nearest) marks[p] = 1;
  const thinned = keepMarked(cloud, 'thinning', marks);
  // Each cell's one point, by its new number.
  const into = cellOf.map((c) => thinned.into[nearest[c]]);
  if (keep === 'nearest' || cells === cellOf.length) return { ...thinned, into };
  const order = marked(marks).map((p) => cellOf[p]);
  const inOrder = (of: Float64Array): Float64Array => {
    const sorted = new Float64Array(of.length);
    for (let i = 0; i < order.length; i++) for (let k = 0; k < 3; k++) sorted[3 * i + k] = of[3 * order[i] + k];
    return sorted;
  };
  const averaged = (of: ArrayLike<number>) => inOrder(meansOf(of, cellOf, cells));
  const scan: Scan = Object.freeze({
    ...thinned.scan,
    positions: inOrder(means),
    ...(cloud.normals && { normals: unitNormals(averaged(cloud.normals)) }),
    ...(cloud.colors && { colors: Uint8Array.from(Uint8ClampedArray.from(averaged(cloud.colors))) }),
  });
  return { ...thinned, scan, into, partial: false };
}

/** The cell each point lies in, numbered in the order they are met; and how many there are. */
function cellsOf(positions: Float64Array, cell: number): [Uint32Array, number] {
  const { min } = bounds({ positions });
  const cellOf = new Uint32Array(positions.length / 3);
  const table = new PlaceTable(cellOf.length);
  for (let p = 0; p < cellOf.length; p++)
    cellOf[p] = table.number(
      Math.floor((positions[3 * p] - min[0]) / cell),
      Math.floor((positions[3 * p + 1] - min[1]) / cell),
      Math.floor((positions[3 * p + 2] - min[2]) / cell),
    );
  return [cellOf, table.count];
}

function meansOf(values: ArrayLike<number>, cellOf: Uint32Array, cells: number): Float64Array {
  const counts = new Uint32Array(cells);
  const means = new Float64Array(3 * cells);
  for (let p = 0; p < cellOf.length; p++) {
    const c = cellOf[p];
    // Running means: sums of large coordinates would round more.
    const n = ++counts[c];
    for (let k = 0; k < 3; k++) means[3 * c + k] += (values[3 * p + k] - means[3 * c + k]) / n;
  }
  return means;
}

/** Of each cell the point nearest to its mean, the first of several. */
function nearestToMeans(positions: Float64Array, cellOf: Uint32Array, means: Float64Array): Uint32Array {
  const nearest = new Uint32Array(means.length / 3);
  const least = new Float64Array(nearest.length).fill(Infinity);
  for (let p = 0; p < cellOf.length; p++) {
    const c = cellOf[p];
    const square =
      (positions[3 * p] - means[3 * c]) ** 2 +
      (positions[3 * p + 1] - means[3 * c + 1]) ** 2 +
      (positions[3 * p + 2] - means[3 * c + 2]) ** 2;
    if (square >= least[c]) continue;
    least[c] = square;
    nearest[c] = p;
  }
  return nearest;
}

/** Single precision, unit length; zero, which means unknown, where they cancel. */
function unitNormals(means: Float64Array): Float32Array {
  const normals = new Float32Array(means.length);
  for (let i = 0; i < means.length; i += 3) {
    const size = Math.hypot(means[i], means[i + 1], means[i + 2]);
    if (size < 1e-6) continue;
    for (let k = 0; k < 3; k++) normals[i + k] = means[i + k] / size;
  }
  return normals;
}
