import type { Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Sides, trimExtremes } from './trim.js';

/** Points in axes of their own: near the origin, where differences keep their digits. */
export interface Cloud {
  /** xyz xyz …, mm, in the cloud's axes. */
  readonly xyz: Float64Array;
  readonly count: number;
  /** Index in the caller's `positions` of each point; absent: its own place. */
  readonly index?: Uint32Array;
}

export const indexIn = (cloud: Cloud, i: number): number => (cloud.index ? cloud.index[i] : i);

export function centroidOf({ positions, select }: Points): Vec3 {
  const count = select ? select.length : positions.length / 3;
  let x = 0;
  let y = 0;
  let z = 0;
  for (let i = 0; i < count; i++) {
    const p = 3 * (select ? select[i] : i);
    x += positions[p];
    y += positions[p + 1];
    z += positions[p + 2];
  }
  return [x / count, y / count, z / count];
}

/** The points seen from `origin` along three unit vectors. */
export function localCloud(points: Points, origin: Vec3, axes: readonly [u: Vec3, v: Vec3, w: Vec3]): Cloud {
  const { positions, select } = points;
  const count = select ? select.length : positions.length / 3;
  const xyz = new Float64Array(3 * count);
  const [[ux, uy, uz], [vx, vy, vz], [wx, wy, wz]] = axes;
  const [ox, oy, oz] = origin;
  for (let i = 0, k = 0; i < count; i++, k += 3) {
    const p = select ? 3 * select[i] : k;
    const x = positions[p] - ox;
    const y = positions[p + 1] - oy;
    const z = positions[p + 2] - oz;
    xyz[k] = ux * x + uy * y + uz * z;
    xyz[k + 1] = vx * x + vy * y + vz * z;
    xyz[k + 2] = wx * x + wy * y + wz * z;
  }
  return { xyz, count, index: select };
}

/** The cloud without its extremes ({@link trimExtremes}), and the caller's indices of those left out, ascending. */
export function trimCloud(
  cloud: Cloud,
  residual: (x: number, y: number, z: number) => number,
  share: number,
  sides: Sides,
): { readonly kept: Cloud; readonly trimmed: Uint32Array } {
  if (share === 0) return { kept: cloud, trimmed: new Uint32Array(0) };
  const { xyz, count } = cloud;
  const residuals = new Float64Array(count);
  for (let i = 0; i < count; i++) residuals[i] = residual(xyz[3 * i], xyz[3 * i + 1], xyz[3 * i + 2]);
  const out = trimExtremes(residuals, share, sides);
  const kept = new Float64Array(3 * (count - out.length));
  const index = new Uint32Array(count - out.length);
  let next = 0;
  for (let i = 0, k = 0; i < count; i++) {
    if (out[next] === i) {
      next++;
      continue;
    }
    kept[3 * k] = xyz[3 * i];
    kept[3 * k + 1] = xyz[3 * i + 1];
    kept[3 * k + 2] = xyz[3 * i + 2];
    index[k++] = indexIn(cloud, i);
  }
  const trimmed = out.map((i) => indexIn(cloud, i)).sort();
  return { kept: { xyz: kept, count: index.length, index }, trimmed };
}
