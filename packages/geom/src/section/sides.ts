import type { Plane } from '../feature/feature.js';
import { DisjointSets } from '../scan/disjoint-sets.js';
import type { Mesh } from '../scan/scan.js';

export const lower = 0;
export const upper = 1;
/** Of a point that is not selected. Three corners with one such sum up to more than a crossing triangle can. */
export const aside = 4;

/**
 * Signed distance of a point from the plane, mm; exactly 0 if it lies on the plane to within the rounding of its coordinates
 * (some 1e-15 of their size), as the vertices of a face do that has been turned into the plane.
 */
export function distanceFrom({ point, normal }: Plane): (positions: Float64Array, p: number) => number {
  const [px, py, pz] = point;
  const [nx, ny, nz] = normal;
  const size = Math.abs(nx * px) + Math.abs(ny * py) + Math.abs(nz * pz);
  return (positions, p) => {
    const x = positions[3 * p];
    const y = positions[3 * p + 1];
    const z = positions[3 * p + 2];
    const d = nx * (x - px) + ny * (y - py) + nz * (z - pz);
    // Few points come so near that the rest is worth asking.
    if (d > 1e-6 || d < -1e-6) return d;
    const rounding = 2 ** -50 * (Math.abs(nx * x) + Math.abs(ny * y) + Math.abs(nz * z) + size);
    return d > rounding || d < -rounding ? d : 0;
  };
}

/** On which side of a plane each point of a mesh counts, and which points are on it. */
export interface Sides {
  readonly side: Uint8Array;
  /** 1 for points on the plane; absent where there is none. */
  readonly isOn?: Uint8Array;
}

/**
 * Points on the plane belong to one side or the other, so that every triangle is either crossed by two of its edges or by none,
 * and outlines come out whole. Points on the plane that hang together along it go to the same side: to the upper, unless no
 * triangle reaches from them to below; then to the lower. So a face in the plane gives its outline once, whether the solid
 * lies under it or over it.
 */
export function sidesOf(mesh: Mesh, plane: Plane): Sides {
  const { positions, triangles, select } = mesh;
  const distance = distanceFrom(plane);
  const side = new Uint8Array(positions.length / 3);
  const onPlane: number[] = [];
  const count = select ? select.length : side.length;
  if (select) side.fill(aside);
  for (let i = 0; i < count; i++) {
    const p = select ? select[i] : i;
    const d = distance(positions, p);
    side[p] = d >= 0 ? upper : lower;
    if (d === 0) onPlane.push(p);
  }
  if (onPlane.length === 0) return { side };
  const isOn = new Uint8Array(side.length);
  for (const p of onPlane) isOn[p] = 1;
  settle(onPlane, isOn, side, triangles);
  return { side, isOn };
}

function settle(onPlane: readonly number[], isOn: Uint8Array, side: Uint8Array, triangles: Uint32Array): void {
  const sets = new DisjointSets(side.length);
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t];
    const b = triangles[t + 1];
    const c = triangles[t + 2];
    if (isOn[a] + isOn[b] + isOn[c] < 2) continue;
    if (isOn[a] && isOn[b]) sets.merge(a, b);
    if (isOn[b] && isOn[c]) sets.merge(b, c);
    if (isOn[c] && isOn[a]) sets.merge(c, a);
  }
  const reachesDown = new Uint8Array(side.length);
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) {
      const p = triangles[t + k];
      if (!isOn[p]) continue;
      if (side[triangles[t + ((k + 1) % 3)]] === lower || side[triangles[t + ((k + 2) % 3)]] === lower)
        reachesDown[sets.find(p)] = 1;
    }
  }
  for (const p of onPlane) if (!reachesDown[sets.find(p)]) side[p] = lower;
}
