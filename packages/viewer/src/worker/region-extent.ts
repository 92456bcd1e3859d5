import { type Mesh, pointTriangles, type Scan, vertexNormals } from '@fettle/geom';

/** How large a region is, and how far it turns. */
export interface RegionExtent {
  /** Of the triangles that have all corners in it, mm²; absent for clouds. */
  readonly area?: number;
  /** Largest angle between the points' normals and their mean, radians; 0 where there are none. */
  readonly spread: number;
}

const normalsOf = new WeakMap<Scan, Float32Array>();

export function regionExtent(scan: Scan, select: Uint32Array): RegionExtent {
  if (scan.triangles === undefined) return { spread: spreadOf(scan.normals, select) };
  let normals = scan.normals ?? normalsOf.get(scan);
  if (normals === undefined) {
    normals = vertexNormals(scan as Mesh);
    normalsOf.set(scan, normals);
  }
  return { area: areaOf(scan as Mesh, select), spread: spreadOf(normals, select) };
}

function areaOf(mesh: Mesh, select: Uint32Array): number {
  const { positions, triangles } = mesh;
  const about = pointTriangles(mesh);
  const isIn = new Uint8Array(positions.length / 3);
  for (const p of select) isIn[p] = 1;
  let twice = 0;
  for (const p of select)
    for (let k = about.offsets[p]!; k < about.offsets[p + 1]!; k++) {
      const t = 3 * about.triangles[k]!;
      const [a, b, c] = [triangles[t]!, triangles[t + 1]!, triangles[t + 2]!];
      // Each triangle is counted at its first corner.
      if (a === p && isIn[b] && isIn[c]) twice += doubleArea(positions, 3 * a, 3 * b, 3 * c);
    }
  return twice / 2;
}

function doubleArea(at: Float64Array, a: number, b: number, c: number): number {
  const ux = at[b]! - at[a]!;
  const uy = at[b + 1]! - at[a + 1]!;
  const uz = at[b + 2]! - at[a + 2]!;
  const vx = at[c]! - at[a]!;
  const vy = at[c + 1]! - at[a + 1]!;
  const vz = at[c + 2]! - at[a + 2]!;
  return Math.sqrt((uy * vz - uz * vy) ** 2 + (uz * vx - ux * vz) ** 2 + (ux * vy - uy * vx) ** 2);
}

function spreadOf(normals: Float32Array | undefined, select: Uint32Array): number {
  if (normals === undefined) return 0;
  let [x, y, z] = [0, 0, 0];
  for (const p of select) {
    x += normals[3 * p]!;
    y += normals[3 * p + 1]!;
    z += normals[3 * p + 2]!;
  }
  const length = Math.hypot(x, y, z);
  if (length === 0) return 0;
  let least = 1;
  for (const p of select) {
    const [a, b, c] = [normals[3 * p]!, normals[3 * p + 1]!, normals[3 * p + 2]!];
    if (a === 0 && b === 0 && c === 0) continue;
    least = Math.min(least, (a * x + b * y + c * z) / length);
  }
  return Math.acos(Math.max(-1, Math.min(1, least)));
}
