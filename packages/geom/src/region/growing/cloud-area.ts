import { pointIndex } from '../../scan/point-index.js';
import type { Points } from '../../scan/scan.js';

/** Points looked at. */
const looked = 300;

/**
 * About the area of a region of a cloud, mm²: its points times the area one stands for, which is that of a disc over the points in it. The
 * median of that is taken, as discs at the border of the scan are half empty.
 *
 * @param select point indices
 * @param radius of the discs, mm: large enough for some ten points
 */
export function cloudArea(points: Points, select: Uint32Array, radius: number): number {
  const index = pointIndex(points);
  const { positions } = points;
  const stride = Math.max(1, select.length / looked);
  const each: number[] = [];
  for (let i = 0; i < select.length; i += stride) {
    const p = 3 * select[Math.floor(i)];
    let near = 0;
    index.eachWithin(positions[p], positions[p + 1], positions[p + 2], radius, () => {
      near++;
    });
    each.push((Math.PI * radius * radius) / near);
  }
  return each.length === 0 ? 0 : each.sort((a, b) => a - b)[each.length >> 1] * select.length;
}
