import { nthSmallest } from '../math/nth-smallest.js';
import { PlaceTable } from '../prepare/place-table.js';
import { bounds } from '../scan/bounds.js';
import { LocalPlane } from '../scan/local-plane.js';
import { type PointIndex, pointIndex } from '../scan/point-index.js';
import type { Scan } from '../scan/scan.js';
import { eachSample } from './surface-samples.js';

/** A scan's surface in small pieces, each about flat: one for each cube that the surface passes through, and for each side it faces. */
export interface Patches {
  /** Edge of the cubes, mm. */
  readonly side: number;
  readonly size: number;
  /** Middle of each piece, xyz xyz …, mm. */
  readonly middle: Float64Array;
  /** Unit normal of each, xyz xyz …. */
  readonly normal: Float64Array;
  /** Whether the normals face out of the body; else either way. */
  readonly faces: boolean;
  /** Median of the root mean squares off the pieces' planes, mm: the noise, without what all of a piece shares. */
  readonly thickness: number;
  readonly index: PointIndex;
}

/** A piece of fewer samples is no surface. */
const LEAST = 4;
/** A piece is flat if it is thinner than this share of its side. */
const FLAT = 0.22;
const SUMS = 13;
/** Samples looked at. */
const MOST_SAMPLES = 500_000;

/**
 * @param side of the cubes, mm; pieces of clouds too thin for it are left out
 */
export function patchesOf(scan: Scan, side: number): Patches {
  const { positions } = scan;
  const { min } = bounds(scan);
  const faces = scan.triangles !== undefined || scan.normals !== undefined;
  const room = Math.max(64, Math.min(2 * MOST_SAMPLES, 4 * positions.length));
  const table = new PlaceTable(room);
  let sums = new Float64Array(SUMS * 4096);
  let at = new Float64Array(3 * 4096);
  eachSample(scan, side / 3, MOST_SAMPLES, (x, y, z, nx, ny, nz, weight) => {
    const ix = Math.floor((x - min[0]) / side);
    const iy = Math.floor((y - min[1]) / side);
    const iz = Math.floor((z - min[2]) / side);
    if (table.count >= room - 1) return;
    const facing = faces ? facingOf(nx, ny, nz) : 0;
    const c = table.number(ix, iy, 8 * iz + facing);
    if (SUMS * (c + 1) > sums.length) {
      sums = doubled(sums);
      at = doubled(at);
    }
    const ox = min[0] + side * (ix + 0.5);
    const oy = min[1] + side * (iy + 0.5);
    const oz = min[2] + side * (iz + 0.5);
    at[3 * c] = ox;
    at[3 * c + 1] = oy;
    at[3 * c + 2] = oz;
    add(sums, SUMS * c, x - ox, y - oy, z - oz, nx, ny, nz, weight);
  });
  return finished(sums, at, table.count, side, faces);
}

function doubled(array: Float64Array): Float64Array<ArrayBuffer> {
  const twice = new Float64Array(2 * array.length);
  twice.set(array);
  return twice;
}

/** Which of the six sides of a cube a normal faces. */
function facingOf(x: number, y: number, z: number): number {
  const [ax, ay, az] = [Math.abs(x), Math.abs(y), Math.abs(z)];
  if (ax >= ay && ax >= az) return x >= 0 ? 0 : 1;
  if (ay >= az) return y >= 0 ? 2 : 3;
  return z >= 0 ? 4 : 5;
}

function add(
  sums: Float64Array,
  s: number,
  x: number,
  y: number,
  z: number,
  nx: number,
  ny: number,
  nz: number,
  weight: number,
): void {
  sums[s] += weight;
  sums[s + 1] += weight * x;
  sums[s + 2] += weight * y;
  sums[s + 3] += weight * z;
  sums[s + 4] += weight * x * x;
  sums[s + 5] += weight * x * y;
  sums[s + 6] += weight * x * z;
  sums[s + 7] += weight * y * y;
  sums[s + 8] += weight * y * z;
  sums[s + 9] += weight * z * z;
  sums[s + 10] += weight * nx;
  sums[s + 11] += weight * ny;
  sums[s + 12] += weight * nz;
}

function finished(sums: Float64Array, at: Float64Array, count: number, side: number, faces: boolean): Patches {
  const middle = new Float64Array(3 * count);
  const normal = new Float64Array(3 * count);
  const thickness = new Float64Array(count);
  const plane = new LocalPlane();
  let size = 0;
  for (let c = 0; c < count; c++) {
    const own = sums.subarray(SUMS * c, SUMS * c + SUMS);
    const weight = own[0];
    if (weight < LEAST && !faces) continue;
    const long = Math.hypot(own[10], own[11], own[12]);
    // Of a mesh the weights are areas over what a third of the side squared holds.
    if (faces && (long < 0.7 * weight || weight < 1.5)) continue;
    // solveMoments wants a count of three at least; only ratios of the sums matter.
    const scaled = own.slice(0, 10).map((s) => (s * 30) / weight);
    if (!plane.solveMoments(scaled)) continue;
    let [nx, ny, nz] = [plane.nx, plane.ny, plane.nz];
    const thick = plane.rms;
    if (thick > FLAT * side) continue;
    if (faces) {
      const cos = (nx * own[10] + ny * own[11] + nz * own[12]) / long;
      // A sliver of a cube holds too little to tell its plane by its points.
      if (Math.abs(cos) < 0.95) [nx, ny, nz] = [own[10] / long, own[11] / long, own[12] / long];
      else if (cos < 0) [nx, ny, nz] = [-nx, -ny, -nz];
    }
    for (let k = 0; k < 3; k++) middle[3 * size + k] = at[3 * c + k] + own[k + 1] / weight;
    normal[3 * size] = nx;
    normal[3 * size + 1] = ny;
    normal[3 * size + 2] = nz;
    thickness[size++] = thick;
  }
  const positions = middle.slice(0, 3 * size);
  return {
    side,
    size,
    middle: positions,
    normal: normal.slice(0, 3 * size),
    faces,
    thickness: size > 0 ? nthSmallest(thickness.slice(0, size), size >> 1) : 0,
    index: size > 0 ? pointIndex({ positions }) : pointIndex({ positions: new Float64Array(3) }),
  };
}
