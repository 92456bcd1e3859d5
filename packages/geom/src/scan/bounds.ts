import { FettleError } from '../error.js';
import type { Vec3 } from '../math/vec3.js';
import type { Bounds, Points } from './scan.js';

/**
 * Axis-aligned bounds of the (selected) points, mm.
 *
 * @throws FettleError `points-empty` if there is no point.
 */
export function bounds(points: Points): Bounds {
  const { positions, select } = points;
  const count = select ? select.length : positions.length / 3;
  if (count === 0) throw new FettleError('points-empty', 'No points, hence no bounds. Select some points.');
  let minX = Infinity;
  let minY = Infinity;
  let minZ = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  let maxZ = -Infinity;
  for (let i = 0; i < count; i++) {
    const p = 3 * (select ? select[i] : i);
    const x = positions[p];
    const y = positions[p + 1];
    const z = positions[p + 2];
    if (x < minX) minX = x;
    if (y < minY) minY = y;
    if (z < minZ) minZ = z;
    if (x > maxX) maxX = x;
    if (y > maxY) maxY = y;
    if (z > maxZ) maxZ = z;
  }
  return { min: [minX, minY, minZ], max: [maxX, maxY, maxZ] };
}

export const boundsCenter = ({ min, max }: Bounds): Vec3 => [
  (min[0] + max[0]) / 2,
  (min[1] + max[1]) / 2,
  (min[2] + max[2]) / 2,
];

/** Length of the diagonal, mm. */
export const boundsDiagonal = ({ min, max }: Bounds): number =>
  Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
