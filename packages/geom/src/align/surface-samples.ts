import type { Scan } from '../scan/scan.js';

/** A place of the surface, its normal (zero where unknown), and how much of the surface it stands for. */
export type Visit = (x: number, y: number, z: number, nx: number, ny: number, nz: number, weight: number) => void;

/**
 * Walks over a scan's surface: of a mesh over its triangles, each by its area in units of `step`², large ones in parts no wider than
 * `step`; of a cloud over its (selected) points, each weighing 1. Of large scans every so many-th small triangle or point.
 *
 * @param step mm
 * @param most how many are looked at, about
 */
export function eachSample(scan: Scan, step: number, most: number, visit: Visit): void {
  if (scan.triangles) eachTriangle(scan.positions, scan.triangles, step, most, visit);
  else eachPoint(scan, most, visit);
}

function eachPoint({ positions, select, normals }: Scan, most: number, visit: Visit): void {
  const total = select ? select.length : positions.length / 3;
  const every = Math.max(1, total / most);
  for (let i = 0; i < total; i += every) {
    const k = Math.floor(i);
    const p = 3 * (select ? select[k] : k);
    visit(
      positions[p],
      positions[p + 1],
      positions[p + 2],
      normals ? normals[p] : 0,
      normals ? normals[p + 1] : 0,
      normals ? normals[p + 2] : 0,
      1,
    );
  }
}

function eachTriangle(positions: Float64Array, triangles: Uint32Array, step: number, most: number, visit: Visit): void {
  const every = Math.max(1, Math.ceil(triangles.length / 3 / most));
  for (let t = 0; t < triangles.length / 3; t++) {
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const isTaken = t % every === 0;
    const ux = positions[b] - positions[a];
    const uy = positions[b + 1] - positions[a + 1];
    const uz = positions[b + 2] - positions[a + 2];
    const vx = positions[c] - positions[a];
    const vy = positions[c + 1] - positions[a + 1];
    const vz = positions[c + 2] - positions[a + 2];
    const longest = Math.max(
      ux * ux + uy * uy + uz * uz,
      vx * vx + vy * vy + vz * vz,
      (ux - vx) ** 2 + (uy - vy) ** 2 + (uz - vz) ** 2,
    );
    const isLarge = longest > step * step;
    if (!isTaken && !isLarge) continue;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const twice = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (!(twice > 0)) continue;
    const parts = isLarge ? Math.ceil(Math.sqrt(longest) / step) : 1;
    const weight = ((isLarge ? 1 : every) * twice) / 2 / (step * step) / (parts * parts);
    // The middles of the parts² triangles that the triangle is cut into.
    for (let i = 0; i < parts; i++)
      for (let j = 0; j < 2 * (parts - i) - 1; j++) {
        const isUp = j % 2 === 0;
        const s = (i + (isUp ? 1 / 3 : 2 / 3)) / parts;
        const r = ((j >> 1) + (isUp ? 1 / 3 : 2 / 3)) / parts;
        visit(
          positions[a] + s * ux + r * vx,
          positions[a + 1] + s * uy + r * vy,
          positions[a + 2] + s * uz + r * vz,
          nx / twice,
          ny / twice,
          nz / twice,
          weight,
        );
      }
  }
}
