import { scaledCholesky } from '../math/scaled-solve.js';
import type { Vec3 } from '../math/vec3.js';
import type { Oriented } from './pair-features.js';
import type { Patches } from './patches.js';
import type { Rare } from './rarity.js';
import { composed, type Rigid, smallMove, straightened } from './rigid.js';

const nearest = new Uint32Array(1);
const square = new Float64Array(1);

/** How much of the scan lies on the reference in a pose, piece by piece. */
export interface Match {
  readonly motion: Rigid;
  /** Share of the scan's pieces, each by its rarity, that lie on one of the reference. */
  readonly share: number;
  /** Share of those that lie near one and face as it does. */
  readonly near: number;
}

/** Visits each piece of the scan that comes near one of the reference facing the same way; d is how far off its plane. */
function eachNear(
  scan: Oriented,
  reference: Patches,
  motion: Rigid,
  within: number,
  faces: boolean,
  leastCosine: number,
  visit: (x: number, y: number, z: number, nx: number, ny: number, nz: number, d: number, i: number) => void,
): void {
  const { r, t } = motion;
  const { middle, normal, index } = reference;
  for (let i = 0; i < scan.size; i++) {
    const p = 3 * i;
    const px = scan.middle[p];
    const py = scan.middle[p + 1];
    const pz = scan.middle[p + 2];
    const x = r[0] * px + r[1] * py + r[2] * pz + t[0];
    const y = r[3] * px + r[4] * py + r[5] * pz + t[1];
    const z = r[6] * px + r[7] * py + r[8] * pz + t[2];
    if (index.gatherNearest(x, y, z, nearest, square, within) === 0) continue;
    const q = 3 * nearest[0];
    const ux = scan.normal[p];
    const uy = scan.normal[p + 1];
    const uz = scan.normal[p + 2];
    let nx = r[0] * ux + r[1] * uy + r[2] * uz;
    let ny = r[3] * ux + r[4] * uy + r[5] * uz;
    let nz = r[6] * ux + r[7] * uy + r[8] * uz;
    let cos = nx * normal[q] + ny * normal[q + 1] + nz * normal[q + 2];
    if (!faces && cos < 0) {
      cos = -cos;
      nx = -nx;
      ny = -ny;
      nz = -nz;
    }
    if (cos < leastCosine) continue;
    // Symmetric: square to neither surface alone (S. Rusinkiewicz, ACM Trans. Graph. 38 (2019)).
    const long = 1 / Math.sqrt(2 + 2 * cos);
    nx = (nx + normal[q]) * long;
    ny = (ny + normal[q + 1]) * long;
    nz = (nz + normal[q + 2]) * long;
    visit(x, y, z, nx, ny, nz, nx * (x - middle[q]) + ny * (y - middle[q + 1]) + nz * (z - middle[q + 2]), i);
  }
}

/**
 * @param tolerance how far off a piece may be to lie on another, mm
 * @param within how far its middle may be from another's to be near, mm
 */
export function matched(
  scan: Rare,
  reference: Patches,
  motion: Rigid,
  { tolerance, within, faces, cosine = 0.85 }: { tolerance: number; within: number; faces: boolean; cosine?: number },
): Match {
  let on = 0;
  let near = 0;
  const { rarity } = scan;
  eachNear(scan, reference, motion, within, faces, cosine, (_x, _y, _z, _nx, _ny, _nz, d, i) => {
    near += rarity[i];
    if (Math.abs(d) <= tolerance) on += rarity[i];
  });
  return { motion, share: on, near };
}

/**
 * Draws a pose closer: least squares of the distances between pieces, weighed by Tukey's biweight, whose width shrinks from `widest`
 * to `narrowest` over the rounds.
 */
export function drawnCloser(
  scan: Rare,
  reference: Patches,
  from: Rigid,
  { widest, narrowest, rounds, faces }: { widest: number; narrowest: number; rounds: number; faces: boolean },
): Rigid {
  let motion = from;
  const normal = new Float64Array(36);
  const right = new Float64Array(6);
  const j = new Float64Array(6);
  for (let round = 0; round < rounds; round++) {
    const width = rounds > 1 ? widest * (narrowest / widest) ** (round / (rounds - 1)) : narrowest;
    normal.fill(0);
    right.fill(0);
    const c = centerOf(scan, motion);
    let count = 0;
    eachNear(scan, reference, motion, Math.max(width, reference.side), faces, 0.7, (x, y, z, nx, ny, nz, d, i) => {
      const u = d / width;
      if (u * u >= 1) return;
      const w = scan.rarity[i] * (1 - u * u) ** 2;
      count++;
      j[0] = nx;
      j[1] = ny;
      j[2] = nz;
      j[3] = (y - c[1]) * nz - (z - c[2]) * ny;
      j[4] = (z - c[2]) * nx - (x - c[0]) * nz;
      j[5] = (x - c[0]) * ny - (y - c[1]) * nx;
      for (let a = 0; a < 6; a++) {
        right[a] -= w * j[a] * d;
        for (let b = 0; b <= a; b++) normal[6 * a + b] += w * j[a] * j[b];
      }
    });
    if (count < 6) return motion;
    for (let a = 0; a < 6; a++) for (let b = a + 1; b < 6; b++) normal[6 * a + b] = normal[6 * b + a];
    const step = scaledCholesky(normal, 6, 1e-3)?.solve(right);
    if (!step) return motion;
    const turn: Vec3 = [step[3], step[4], step[5]];
    const angle = Math.hypot(...turn);
    const most = angle > 0.2 ? 0.2 / angle : 1;
    motion = straightened(
      composed(smallMove([step[0], step[1], step[2]], [turn[0] * most, turn[1] * most, turn[2] * most], c), motion),
    );
  }
  return motion;
}

function centerOf({ middle, size }: Oriented, { r, t }: Rigid): Vec3 {
  let [x, y, z] = [0, 0, 0];
  for (let i = 0; i < size; i++) {
    x += middle[3 * i] / size;
    y += middle[3 * i + 1] / size;
    z += middle[3 * i + 2] / size;
  }
  return [
    r[0] * x + r[1] * y + r[2] * z + t[0],
    r[3] * x + r[4] * y + r[5] * z + t[1],
    r[6] * x + r[7] * y + r[8] * z + t[2],
  ];
}

/** The scale of the scan about its middle at which it would lie closer in a pose, told by one more column beside the six of the move. */
export function scaleBetween(
  scan: Oriented,
  reference: Patches,
  motion: Rigid,
  { width, faces }: { width: number; faces: boolean },
): number {
  const matrix = new Float64Array(49);
  const right = new Float64Array(7);
  const c = centerOf(scan, motion);
  eachNear(scan, reference, motion, Math.max(width, reference.side), faces, 0.7, (x, y, z, nx, ny, nz, d) => {
    const u = d / width;
    if (u * u >= 1) return;
    const w = (1 - u * u) ** 2;
    const [px, py, pz] = [x - c[0], y - c[1], z - c[2]];
    const j = [nx, ny, nz, py * nz - pz * ny, pz * nx - px * nz, px * ny - py * nx, nx * px + ny * py + nz * pz];
    for (let a = 0; a < 7; a++) {
      right[a] -= w * j[a] * d;
      for (let b = 0; b < 7; b++) matrix[7 * a + b] += w * j[a] * j[b];
    }
  });
  const step = scaledCholesky(matrix, 7, 1e-4)?.solve(right)[6] ?? 0;
  return 1 + Math.max(-0.05, Math.min(0.05, step));
}
