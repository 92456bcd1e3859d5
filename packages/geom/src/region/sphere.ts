import { FettleError } from '../error.js';
import { type Frame, scanFrame } from '../math/frame.js';
import type { Vec3 } from '../math/vec3.js';
import { type Choice, emptyRegion } from './empty.js';

export interface Ball {
  readonly center: Vec3;
  /** mm */
  readonly radius: number;
}

/**
 * The (selected) points inside or on a sphere, its center in scan axes or in a frame: indices in ascending order.
 *
 * @throws FettleError `region-sphere` for a radius that is not above 0; `region-empty` if no point is inside, saying how far off the
 * nearest is.
 */
export function sphereRegion(points: Choice, { center, radius }: Ball, frame: Frame = scanFrame): Uint32Array {
  if (!(radius > 0) || !center.every(Number.isFinite))
    throw new FettleError(
      'region-sphere',
      `A sphere about (${center.join(', ')}) with a radius of ${radius} mm holds nothing. Give a radius above 0.`,
    );
  const { positions } = points;
  const [x, y, z] = frame.toScan(center);
  const select = points.select?.slice().sort();
  const count = select ? select.length : positions.length / 3;
  const found = new Uint32Array(count);
  let kept = 0;
  let least = Infinity;
  let nearest = 0;
  for (let i = 0; i < count; i++) {
    const p = select ? select[i] : i;
    const dx = positions[3 * p] - x;
    const dy = positions[3 * p + 1] - y;
    const dz = positions[3 * p + 2] - z;
    const square = dx * dx + dy * dy + dz * dz;
    if (square <= radius * radius) found[kept++] = p;
    else if (square < least) {
      least = square;
      nearest = p;
    }
  }
  if (kept === 0) throw emptyRegion(points, 'the sphere', nearest, Math.sqrt(least) - radius);
  return found.slice(0, kept);
}
