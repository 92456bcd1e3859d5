import { add, addScaled, scale, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { indexIn, localCloud, trimCloud } from './cloud.js';
import type { Sides } from './trim.js';

/** Points in a plane, in the plane's own axes: a cloud seen along its third axis. */
export interface FlatCloud {
  /** xy xy …, mm. */
  readonly xy: Float64Array;
  readonly count: number;
  /** Index in the caller's `positions` of a point. */
  indexOf(i: number): number;
  /** Indices of the points left out, ascending. */
  readonly trimmed: Uint32Array;
  /** The point of the plane at (x, y), in space. */
  inSpace(x: number, y: number): Vec3;
}

/** Points seen from `origin` along w, in the axes u, v; without the extremes of `residual`. */
export function flatCloud(
  points: Points,
  origin: Vec3,
  [u, v, w]: readonly [u: Vec3, v: Vec3, w: Vec3],
  residual: (x: number, y: number) => number,
  share: number,
  sides: Sides,
): FlatCloud {
  const { kept, trimmed } = trimCloud(localCloud(points, origin, [u, v, w]), residual, share, sides);
  const xy = new Float64Array(2 * kept.count);
  for (let i = 0; i < kept.count; i++) {
    xy[2 * i] = kept.xyz[3 * i];
    xy[2 * i + 1] = kept.xyz[3 * i + 1];
  }
  return {
    xy,
    count: kept.count,
    indexOf: (i) => indexIn(kept, i),
    trimmed,
    inSpace: (x, y) => add(origin, addScaled(scale(u, x), v, y)),
  };
}
