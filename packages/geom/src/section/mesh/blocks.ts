import type { Plane } from '../../feature/feature.js';
import type { Mesh } from '../../scan/scan.js';

/** Triangles in a row, whose bounds are kept. Scanners and programs list neighbors near each other, so blocks are small in space. */
const perBlock = 32;

interface Blocks {
  readonly positions: Float64Array;
  /** Center and half size, x, y and z, of each block's bounds; absent until the mesh is cut again. */
  boxes?: Float64Array;
}

const known = new WeakMap<Uint32Array, Blocks>();

/** Runs of triangles, as pairs: the first corner of the first, and the end. */
export type Runs = readonly number[];

/**
 * The runs of triangles a plane may cross: all of a mesh that is cut for the first time, or that lists its triangles in no
 * order; of one cut before, only those near the plane. The bounds for that are taken at the second cut, which takes half as
 * long again as the first, and kept with the triangles: a plane moved through a scan of 4.5 M triangles then takes a fifth
 * of the first cut, more where it runs along the surface. Either way the same triangles are found, in the same order.
 */
export function runsNear(mesh: Mesh, plane: Plane): Runs {
  const { positions, triangles } = mesh;
  const all = [0, triangles.length];
  const blocks = known.get(triangles);
  if (blocks?.positions !== positions) {
    known.set(triangles, { positions });
    return all;
  }
  blocks.boxes ??= boxesOf(mesh);
  const runs = runsThrough(blocks.boxes, plane, triangles.length);
  let length = 0;
  for (let i = 0; i < runs.length; i += 2) length += runs[i + 1] - runs[i];
  return length > triangles.length / 4 ? all : runs;
}

function boxesOf({ positions, triangles }: Mesh): Float64Array {
  const corners = 3 * perBlock;
  const boxes = new Float64Array(6 * Math.ceil(triangles.length / corners));
  for (let from = 0, b = 0; from < triangles.length; from += corners, b += 6) {
    const end = Math.min(from + corners, triangles.length);
    let minX = Infinity;
    let minY = Infinity;
    let minZ = Infinity;
    let maxX = -Infinity;
    let maxY = -Infinity;
    let maxZ = -Infinity;
    for (let c = from; c < end; c++) {
      const p = 3 * triangles[c];
      const x = positions[p];
      const y = positions[p + 1];
      const z = positions[p + 2];
      if (x < minX) minX = x;
      if (x > maxX) maxX = x;
      if (y < minY) minY = y;
      if (y > maxY) maxY = y;
      if (z < minZ) minZ = z;
      if (z > maxZ) maxZ = z;
    }
    boxes[b] = (minX + maxX) / 2;
    boxes[b + 1] = (minY + maxY) / 2;
    boxes[b + 2] = (minZ + maxZ) / 2;
    boxes[b + 3] = (maxX - minX) / 2;
    boxes[b + 4] = (maxY - minY) / 2;
    boxes[b + 5] = (maxZ - minZ) / 2;
  }
  return boxes;
}

function runsThrough(boxes: Float64Array, { point, normal }: Plane, end: number): Runs {
  const [px, py, pz] = point;
  const [nx, ny, nz] = normal;
  const [ax, ay, az] = [Math.abs(nx), Math.abs(ny), Math.abs(nz)];
  const runs: number[] = [];
  for (let b = 0, from = 0; b < boxes.length; b += 6, from += 3 * perBlock) {
    const x = boxes[b] - px;
    const y = boxes[b + 1] - py;
    const z = boxes[b + 2] - pz;
    const distance = Math.abs(nx * x + ny * y + nz * z);
    const reach = ax * boxes[b + 3] + ay * boxes[b + 4] + az * boxes[b + 5];
    // Wider than rounding at any size a scan has.
    if (distance > reach + 1e-6) continue;
    const to = Math.min(from + 3 * perBlock, end);
    if (runs[runs.length - 1] === from) runs[runs.length - 1] = to;
    else runs.push(from, to);
  }
  return runs;
}
