import { FettleError } from '../error.js';
import { countText } from '../text/number-text.js';
import type { Choice } from './empty.js';

/**
 * The points with the numbers given: indices in ascending order, each once.
 *
 * @throws FettleError `region-index-range` for a number no point has, `region-empty` for none at all.
 */
export function indexRegion(points: Choice, indices: ArrayLike<number>): Uint32Array {
  const count = points.positions.length / 3;
  const name = points.name ?? 'points';
  for (let i = 0; i < indices.length; i++) {
    const p = indices[i];
    if (p >= 0 && p < count && Number.isInteger(p)) continue;
    throw new FettleError(
      'region-index-range',
      `${name}: there is no point ${Number.isInteger(p) ? countText(p) : p}. Points have the numbers 0 to ${countText(count - 1)}.`,
    );
  }
  if (indices.length === 0)
    throw new FettleError('region-empty', `${name}: the list of points is empty. Name one at least.`);
  const sorted = Uint32Array.from(indices).sort();
  return sorted.filter((p, i) => i === 0 || p !== sorted[i - 1]);
}
