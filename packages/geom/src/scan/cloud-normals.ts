import { FettleError } from '../error.js';
import type { Vec3 } from '../math/vec3.js';
import { LocalPlane } from './local-plane.js';
import { pointIndex } from './point-index.js';
import type { Scan } from './scan.js';
import { scanName } from './scan-name.js';

export interface CloudNormalOptions {
  /** How many nearest points, the point itself among them, a normal is taken from. Default 20; more where there is more noise. */
  readonly neighbors?: number;
  /** Where the scanner stood, in scan axes: normals face it. Without it neighbors face the same way, and each connected part outward. */
  readonly toward?: Vec3;
}

/** Of the neighbors of a point, this many nearest pass on which way it faces. */
const links = 8;

/** Differences of direction are told apart to this fineness when the next point to be faced is chosen. */
const grades = 64;

const none = 0xffffffff;

/**
 * Unit normals for the (selected) points of a cloud (xyz xyz …): of the plane through the nearest points. Zero where those lie on a
 * line, and for points not selected.
 *
 * Without a viewpoint the way they face is passed on from neighbor to neighbor, along those first that are most nearly parallel
 * (Hoppe et al., SIGGRAPH 1992; with graded differences in place of an exact minimum spanning tree). Each connected part then faces
 * away from its own middle on the whole, as a closed surface does outward.
 *
 * @throws FettleError `normals-neighbors` for fewer than three neighbors.
 */
export function cloudNormals(scan: Scan, { neighbors = 20, toward }: CloudNormalOptions = {}): Float32Array {
  if (!(neighbors >= 3 && Number.isInteger(neighbors)))
    throw new FettleError(
      'normals-neighbors',
      `${scanName(scan)}: a normal cannot be taken from ${neighbors} points. Give a whole number, at least 3.`,
    );
  const { positions, select } = scan;
  const index = pointIndex(scan);
  const chosen = select ?? Uint32Array.from({ length: positions.length / 3 }, (_, p) => p);
  const normals = new Float32Array(positions.length);
  const nearest = new Uint32Array(neighbors);
  const squares = new Float64Array(neighbors);
  const plane = new LocalPlane();
  const linked = toward ? undefined : new Uint32Array((links * positions.length) / 3).fill(none);
  for (let i = 0; i < chosen.length; i++) {
    const p = chosen[i];
    const x = positions[3 * p];
    const y = positions[3 * p + 1];
    const z = positions[3 * p + 2];
    const found = index.gatherNearest(x, y, z, nearest, squares);
    plane.start(x, y, z);
    for (let n = 0; n < found; n++) {
      const q = 3 * nearest[n];
      plane.add(positions[q], positions[q + 1], positions[q + 2]);
    }
    if (linked)
      for (let n = 0, l = 0; n < found && l < links; n++) if (nearest[n] !== p) linked[links * p + l++] = nearest[n];
    if (!plane.solve()) continue;
    normals[3 * p] = plane.nx;
    normals[3 * p + 1] = plane.ny;
    normals[3 * p + 2] = plane.nz;
  }
  if (toward) faceToward(positions, normals, toward);
  else if (linked) faceAlike(positions, normals, chosen, linked);
  return normals;
}

function faceToward(positions: Float64Array, normals: Float32Array, [x, y, z]: Vec3): void {
  for (let i = 0; i < normals.length; i += 3) {
    const along =
      normals[i] * (x - positions[i]) +
      normals[i + 1] * (y - positions[i + 1]) +
      normals[i + 2] * (z - positions[i + 2]);
    if (along < 0) turn(normals, i);
  }
}

function faceAlike(positions: Float64Array, normals: Float32Array, chosen: Uint32Array, linked: Uint32Array): void {
  const part: number[] = [];
  const isFaced = new Uint8Array(normals.length / 3);
  /** Links from faced points, by how far the normals at their two ends are from parallel. */
  const waiting: number[][] = Array.from({ length: grades }, () => []);
  const between = (p: number, q: number): number =>
    normals[3 * p] * normals[3 * q] + normals[3 * p + 1] * normals[3 * q + 1] + normals[3 * p + 2] * normals[3 * q + 2];

  const face = (p: number): void => {
    isFaced[p] = 1;
    part.push(p);
    for (let l = links * p; l < links * (p + 1); l++) {
      const q = linked[l];
      if (q === none || isFaced[q]) continue;
      const apart = Math.max(0, 1 - Math.abs(between(p, q)));
      waiting[Math.min(grades - 1, Math.floor(apart * grades))].push(l);
    }
  };
  const spread = (): void => {
    for (let g = 0; g < grades; ) {
      const l = waiting[g].pop();
      if (l === undefined) {
        g++;
        continue;
      }
      const q = linked[l];
      if (isFaced[q]) continue;
      if (between(Math.floor(l / links), q) < 0) turn(normals, 3 * q);
      face(q);
      g = 0;
    }
  };

  for (let i = 0; i < chosen.length; i++) {
    const p = chosen[i];
    if (isFaced[p]) continue;
    // A point may know faced ones as its nearest that do not know it.
    let alike = none;
    for (let l = links * p; l < links * (p + 1); l++) {
      const q = linked[l];
      if (q !== none && isFaced[q] && (alike === none || Math.abs(between(p, q)) > Math.abs(between(p, alike))))
        alike = q;
    }
    if (alike !== none && between(p, alike) < 0) turn(normals, 3 * p);
    part.length = 0;
    face(p);
    spread();
    if (alike === none) faceOutward(positions, normals, part);
  }
}

/** Turns a part over if on the whole it faces its own centroid. */
function faceOutward(positions: Float64Array, normals: Float32Array, part: readonly number[]): void {
  let [x, y, z] = [0, 0, 0];
  for (const p of part) {
    x += positions[3 * p];
    y += positions[3 * p + 1];
    z += positions[3 * p + 2];
  }
  x /= part.length;
  y /= part.length;
  z /= part.length;
  let outward = 0;
  for (const p of part)
    outward +=
      normals[3 * p] * (positions[3 * p] - x) +
      normals[3 * p + 1] * (positions[3 * p + 1] - y) +
      normals[3 * p + 2] * (positions[3 * p + 2] - z);
  if (outward < 0) for (const p of part) turn(normals, 3 * p);
}

function turn(normals: Float32Array, i: number): void {
  normals[i] = -normals[i];
  normals[i + 1] = -normals[i + 1];
  normals[i + 2] = -normals[i + 2];
}
