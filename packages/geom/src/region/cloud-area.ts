import { pointIndex } from '../scan/point-index.js';
import type { Points } from '../scan/scan.js';

/** Points looked at. */
const looked = 300;

/**
 * About the area of a region of a cloud, mm²: its points times the area a point stands for, which is that of a disc less its points.
 * At the border of the scan the disc is emptier than full, and the area comes out larger by up to a disc's radius.
 *
 * @param select point indices
 * @param radius of the discs, mm: large enough for some ten points
 */
export function cloudArea(points: Points, select: Uint32Array, radius: number): number {
  const index = pointIndex(points);
  const { positions } = points;
  const stride = Math.max(1, select.length / looked);
  let area = 0;
  let count = 0;
  for (let i = 0; i < select.length; i += stride, count++) {
    const p = 3 * select[Math.floor(i)];
    let near = 0;
    index.eachWithin(positions[p], positions[p + 1], positions[p + 2], radius, () => {
      near++;
    });
    area += (Math.PI * radius * radius) / near;
  }
  return count === 0 ? 0 : (area / count) * select.length;
}
