import type { Bounds, Random, Vec3 } from '@fettle/geom';
import { casting, castingDistance } from './casting.js';
import { correlatedField } from './correlated-field.js';
import type { Surface } from './surface.js';

/** A piece of the bench the pump stands on, in front and to the left, with a ragged outline; in the pump's axes. */
export function bench(random: Random, spacing: number): Surface {
  const [x0, x1, y0, y1] = [-95, 135, -150, -30];
  const columns = Math.floor((x1 - x0) / spacing);
  const rows = Math.floor((y1 - y0) / spacing);
  const ragged = correlatedField(random, { min: [x0, y0, 0], max: [x1, y1, 1] }, 14);
  const positions: number[] = [];
  const triangles: number[] = [];
  const vertexOf = new Int32Array(columns * rows).fill(-1);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const x = x0 + (i + 0.3 * random.next()) * spacing;
      const y = y0 + (j + 0.3 * random.next()) * spacing;
      const inward = Math.min(x - x0, x1 - x, y - y0, y1 - y) / 22;
      if (inward + 0.4 * ragged(x, y, 0.5) < 1) continue;
      vertexOf[j * columns + i] = positions.length / 3;
      positions.push(x, y, casting.bottom);
      if (i === 0 || j === 0) continue;
      const [a, b, c, d] = [-columns - 1, -columns, 0, -1].map((step) => vertexOf[j * columns + i + step]!);
      if (a! < 0 || b! < 0 || c! < 0 || d! < 0) continue;
      triangles.push(a!, b!, c!, a!, c!, d!);
    }
  }
  const normals = new Float64Array(positions.length);
  for (let i = 2; i < normals.length; i += 3) normals[i] = 1;
  return { positions: Float64Array.from(positions), normals, triangles: Uint32Array.from(triangles) };
}

/** Specks that float near the pump: small fans of triangles that belong to nothing; in the pump's axes. */
export function specks(random: Random, spacing: number, around: Bounds, count: number): Surface {
  const positions: number[] = [];
  const normals: number[] = [];
  const triangles: number[] = [];
  const within = (axis: 0 | 1 | 2): number => around.min[axis] + random.next() * (around.max[axis] - around.min[axis]);
  for (let made = 0; made < count; ) {
    const center: Vec3 = [within(0), within(1), within(2)];
    const off = castingDistance(...center);
    if (off < 4 || off > 35 || center[2] < casting.bottom + 8) continue;
    const hub = positions.length / 3;
    const rim = 4 + random.below(5);
    const [turn, tilt] = [2 * Math.PI * random.next(), 2 * Math.PI * random.next()];
    positions.push(...center);
    for (let k = 0; k < rim; k++) {
      const angle = turn + (5 * k) / rim;
      const r = spacing * (0.8 + random.next());
      positions.push(
        center[0] + r * Math.cos(angle),
        center[1] + r * Math.sin(angle) * Math.cos(tilt),
        center[2] + r * Math.sin(angle) * Math.sin(tilt),
      );
      if (k > 0) triangles.push(hub, hub + k, hub + k + 1);
    }
    for (let k = 0; k <= rim; k++) normals.push(0, -Math.sin(tilt), Math.cos(tilt));
    made++;
  }
  return {
    positions: Float64Array.from(positions),
    normals: Float64Array.from(normals),
    triangles: Uint32Array.from(triangles),
  };
}
