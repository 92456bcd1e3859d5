import type { SpatialIndex } from '../scan/place-questions.js';
import type { PointIndex } from '../scan/point-index.js';
import type { Scan } from '../scan/scan.js';
import { pointSpacing } from '../scan/spacing.js';
import { spatialIndex } from '../scan/spatial-index.js';
import type { Oriented } from './pair-features.js';
import type { Patches } from './patches.js';
import type { Rigid } from './rigid.js';

/** A surface that points are laid on. */
export interface Ground {
  readonly index: SpatialIndex;
  readonly patches: Patches;
  /** How far beside a point of the surface a place may lie and still be over it, mm: the spacing of a cloud. */
  readonly beside: number;
}

export function groundOf(scan: Scan, patches: Patches): Ground {
  return { index: spatialIndex(scan), patches, beside: scan.triangles ? 0 : 1.5 * pointSpacing(scan) };
}

/** Points of a scan and where they lie over the ground, one after the other. */
export interface Pairs {
  readonly count: number;
  /** Place on the ground's axes, normal between the two surfaces, xyz xyz …. */
  readonly place: Float64Array;
  readonly normal: Float64Array;
  /** Signed distance along the normal, mm. */
  readonly off: Float64Array;
  /** How far beside the nearest point of the ground, mm. */
  readonly aside: Float64Array;
  /** Which point of the scan. */
  readonly of: Uint32Array;
}

const nearest = new Uint32Array(1);
const square = new Float64Array(1);

/** For points that come within `within` mm of the ground, facing as it does: distance along the mean of both normals. */
export function pairsOf(points: Oriented, ground: Ground, { r, t }: Rigid, within: number, faces: boolean): Pairs {
  const { size, middle, normal } = points;
  const { index, patches } = ground;
  const place = new Float64Array(3 * size);
  const between = new Float64Array(3 * size);
  const off = new Float64Array(size);
  const aside = new Float64Array(size);
  const of = new Uint32Array(size);
  let count = 0;
  for (let i = 0; i < 3 * size; i += 3) {
    const x = r[0] * middle[i] + r[1] * middle[i + 1] + r[2] * middle[i + 2] + t[0];
    const y = r[3] * middle[i] + r[4] * middle[i + 1] + r[5] * middle[i + 2] + t[1];
    const z = r[6] * middle[i] + r[7] * middle[i + 1] + r[8] * middle[i + 2] + t[2];
    const found = index.nearest([x, y, z], within);
    if (!found) continue;
    const [qx, qy, qz] = found.position;
    const n = nearestNormal(patches.index, qx, qy, qz, 1.5 * patches.side);
    if (n < 0) continue;
    let nx = r[0] * normal[i] + r[1] * normal[i + 1] + r[2] * normal[i + 2];
    let ny = r[3] * normal[i] + r[4] * normal[i + 1] + r[5] * normal[i + 2];
    let nz = r[6] * normal[i] + r[7] * normal[i + 1] + r[8] * normal[i + 2];
    const [mx, my, mz] = [patches.normal[n], patches.normal[n + 1], patches.normal[n + 2]];
    let cos = nx * mx + ny * my + nz * mz;
    if (cos < 0 && !faces) {
      cos = -cos;
      nx = -nx;
      ny = -ny;
      nz = -nz;
    }
    if (cos < 0.7) continue;
    const long = 1 / Math.sqrt(2 + 2 * cos);
    nx = (nx + mx) * long;
    ny = (ny + my) * long;
    nz = (nz + mz) * long;
    const d = nx * (x - qx) + ny * (y - qy) + nz * (z - qz);
    place.set([x, y, z], 3 * count);
    between.set([nx, ny, nz], 3 * count);
    off[count] = d;
    aside[count] = Math.sqrt(Math.max(0, found.distance ** 2 - d * d));
    of[count++] = i / 3;
  }
  return { count, place, normal: between, off, aside, of };
}

function nearestNormal(index: PointIndex, x: number, y: number, z: number, within: number): number {
  return index.gatherNearest(x, y, z, nearest, square, within) === 0 ? -1 : 3 * nearest[0];
}

/** Points of a scan with the normal of the piece of surface they lie in; those in none are left out. */
export function samplePoints(scan: Scan, patches: Patches, most: number): Oriented {
  const { positions, select } = scan;
  const total = select ? select.length : positions.length / 3;
  const every = Math.max(1, total / most);
  const middle = new Float64Array(3 * Math.ceil(total / every) + 3);
  const normal = new Float64Array(middle.length);
  let size = 0;
  for (let k = 0; k < total; k += every) {
    const p = 3 * (select ? select[Math.floor(k)] : Math.floor(k));
    const [x, y, z] = [positions[p], positions[p + 1], positions[p + 2]];
    const n = nearestNormal(patches.index, x, y, z, 0.9 * patches.side);
    if (n < 0) continue;
    const nx = patches.normal[n];
    const ny = patches.normal[n + 1];
    const nz = patches.normal[n + 2];
    const c = patches.middle;
    if (Math.abs(nx * (x - c[n]) + ny * (y - c[n + 1]) + nz * (z - c[n + 2])) > 0.3 * patches.side) continue;
    middle.set([x, y, z], 3 * size);
    normal.set([nx, ny, nz], 3 * size++);
  }
  return { size, middle: middle.slice(0, 3 * size), normal: normal.slice(0, 3 * size) };
}
