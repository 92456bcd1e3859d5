import { FettleError } from '../error.js';
import { type Frame, scanFrame } from '../math/frame.js';
import type { Bounds } from '../scan/scan.js';
import { type Choice, emptyRegion } from './empty.js';

/**
 * The (selected) points inside or on a box along the axes of the scan, or of a frame: indices in ascending order.
 *
 * @throws FettleError `region-box` for a box whose min exceeds its max or is not a number; `region-empty` if no point is inside,
 * saying how far off the nearest is.
 */
export function boxRegion(points: Choice, box: Bounds, frame: Frame = scanFrame): Uint32Array {
  const { min, max } = box;
  if (!(min[0] <= max[0] && min[1] <= max[1] && min[2] <= max[2]))
    throw new FettleError(
      'region-box',
      `A box from (${min.join(', ')}) to (${max.join(', ')}) holds nothing. Give the smaller coordinates as min.`,
    );
  const { positions } = points;
  const { matrix: m } = frame;
  const select = points.select?.slice().sort();
  const count = select ? select.length : positions.length / 3;
  const found = new Uint32Array(count);
  let kept = 0;
  let least = Infinity;
  let nearest = 0;
  for (let i = 0; i < count; i++) {
    const p = select ? select[i] : i;
    const x = positions[3 * p];
    const y = positions[3 * p + 1];
    const z = positions[3 * p + 2];
    const a = m[0] * x + m[4] * y + m[8] * z + m[12];
    const b = m[1] * x + m[5] * y + m[9] * z + m[13];
    const c = m[2] * x + m[6] * y + m[10] * z + m[14];
    const da = Math.max(min[0] - a, 0, a - max[0]);
    const db = Math.max(min[1] - b, 0, b - max[1]);
    const dc = Math.max(min[2] - c, 0, c - max[2]);
    const off = da * da + db * db + dc * dc;
    if (off === 0) found[kept++] = p;
    else if (off < least) {
      least = off;
      nearest = p;
    }
  }
  if (kept === 0) throw emptyRegion(points, 'the box', nearest, Math.sqrt(least));
  return found.slice(0, kept);
}
