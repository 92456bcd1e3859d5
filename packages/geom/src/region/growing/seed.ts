import type { Vec3 } from '../../math/vec3.js';
import type { Mesh, Points } from '../../scan/scan.js';
import { closestOnTriangle } from '../../scan/triangle-closest.js';

/** What of a scan is nearest to a seed. One pass over it: growing needs this once, and no index is built for it. */
export interface Nearest {
  readonly element: number;
  readonly distance: number;
}

export function nearestPoint({ positions, select }: Points, [x, y, z]: Vec3): Nearest {
  const count = select ? select.length : positions.length / 3;
  let element = 0;
  let least = Infinity;
  for (let i = 0; i < count; i++) {
    const p = select ? select[i] : i;
    const square = (positions[3 * p] - x) ** 2 + (positions[3 * p + 1] - y) ** 2 + (positions[3 * p + 2] - z) ** 2;
    if (square >= least) continue;
    least = square;
    element = p;
  }
  return { element, distance: Math.sqrt(least) };
}

export function nearestTriangle({ positions, triangles }: Mesh, [x, y, z]: Vec3): Nearest {
  const place = new Float64Array(3);
  let element = 0;
  let least = Infinity;
  let reach = Infinity;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t];
    const b = triangles[t + 1];
    const c = triangles[t + 2];
    // Most triangles lie clear on one side along x already.
    const ax = positions[3 * a] - x;
    const bx = positions[3 * b] - x;
    const cx = positions[3 * c] - x;
    if ((ax > reach && bx > reach && cx > reach) || (ax < -reach && bx < -reach && cx < -reach)) continue;
    const square = closestOnTriangle(positions, a, b, c, x, y, z, place);
    if (square >= least) continue;
    least = square;
    reach = Math.sqrt(square);
    element = t / 3;
  }
  return { element, distance: reach };
}
