import { allMarked } from '../math/marks.js';
import { pointTriangles } from '../scan/adjacency.js';
import type { Scan } from '../scan/scan.js';
import { keepMarked, type Prepared } from './prepared.js';

/** Drops the triangles of a mesh that have the same three corners as an earlier one, whichever way they face. Points all stay. */
export function dropDuplicateTriangles(scan: Scan): Prepared {
  const corners = scan.triangles ?? new Uint32Array();
  const { offsets, triangles } = pointTriangles(scan);
  const stays = allMarked(corners.length / 3);
  for (let t = 0; t < stays.length; t++) {
    const a = corners[3 * t];
    const b = corners[3 * t + 1];
    const c = corners[3 * t + 2];
    // The triangles about a point are in ascending order.
    for (let i = offsets[a]; i < offsets[a + 1] && triangles[i] < t; i++)
      if (stays[triangles[i]] === 1 && isOf(corners, triangles[i], a, b, c)) {
        stays[t] = 0;
        break;
      }
  }
  return keepMarked(scan, 'dropping duplicate triangles', allMarked(scan.positions.length / 3), stays);
}

/** Whether the corners of triangle t are a, b and c, in any order. */
function isOf(corners: Uint32Array, t: number, a: number, b: number, c: number): boolean {
  const p = corners[3 * t];
  const q = corners[3 * t + 1];
  const r = corners[3 * t + 2];
  if (p === a) return (q === b && r === c) || (q === c && r === b);
  if (p === b) return (q === a && r === c) || (q === c && r === a);
  return p === c && ((q === a && r === b) || (q === b && r === a));
}
