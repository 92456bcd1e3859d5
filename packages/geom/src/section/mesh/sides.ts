import type { Plane } from '../../feature/feature.js';
import { dot } from '../../math/vec3.js';
import { DisjointSets } from '../../scan/disjoint-sets.js';
import type { Mesh } from '../../scan/scan.js';
import type { Runs } from './blocks.js';

export const lower = 0;
export const upper = 1;
/** Of a point that is not selected. Corners with one such among them sum up to more than twelve others can. */
export const aside = 64;
const unasked = 65;

/** Few points come so near to a plane that rounding is worth asking about, mm; within 1,000 km of the origin it is far less. */
const mayBeOn = 1e-6;

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
    if (d > mayBeOn || d < -mayBeOn) return d;
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
export function sidesOf(mesh: Mesh, plane: Plane, runs: Runs): Sides {
  const { positions, triangles, select } = mesh;
  const side = new Uint8Array(positions.length / 3);
  const near =
    runs[1] === triangles.length ? sidesOfAll(positions, plane, side) : sidesOfCorners(mesh, plane, runs, side);
  const distance = distanceFrom(plane);
  for (const p of near) side[p] = distance(positions, p) >= 0 ? upper : lower;
  if (select) setAside(side, select);
  const onPlane = near.filter((p) => side[p] !== aside && distance(positions, p) === 0);
  if (onPlane.length === 0) return { side };
  const isOn = new Uint8Array(side.length);
  for (const p of onPlane) isOn[p] = 1;
  settle(isOn, side, triangles, runs);
  return { side, isOn };
}

/** Fills in the sides of all points, and returns those so near to the plane that they may be on it: their sides are a guess. */
function sidesOfAll(positions: Float64Array, { point, normal }: Plane, side: Uint8Array): readonly number[] {
  const [nx, ny, nz] = normal;
  const level = dot(normal, point);
  const near: number[] = [];
  // Two at a time: a quarter faster.
  const even = side.length & ~1;
  for (let p = 0, i = 0; p < even; p += 2, i += 6) {
    const d = nx * positions[i] + ny * positions[i + 1] + nz * positions[i + 2] - level;
    const e = nx * positions[i + 3] + ny * positions[i + 4] + nz * positions[i + 5] - level;
    side[p] = d >= 0 ? upper : lower;
    side[p + 1] = e >= 0 ? upper : lower;
    if (Math.abs(d) < mayBeOn) near.push(p);
    if (Math.abs(e) < mayBeOn) near.push(p + 1);
  }
  if (even < side.length) near.push(even);
  return near;
}

/** The same for the corners of some triangles. */
function sidesOfCorners(
  { positions, triangles }: Mesh,
  { point, normal }: Plane,
  runs: Runs,
  side: Uint8Array,
): readonly number[] {
  const [nx, ny, nz] = normal;
  const level = dot(normal, point);
  const near: number[] = [];
  side.fill(unasked);
  for (let r = 0; r < runs.length; r += 2) {
    const end = runs[r + 1];
    for (let c = runs[r]; c < end; c++) {
      const p = triangles[c];
      if (side[p] !== unasked) continue;
      const d = nx * positions[3 * p] + ny * positions[3 * p + 1] + nz * positions[3 * p + 2] - level;
      side[p] = d >= 0 ? upper : lower;
      if (Math.abs(d) < mayBeOn) near.push(p);
    }
  }
  return near;
}

function setAside(side: Uint8Array, select: Uint32Array): void {
  const isSelected = new Uint8Array(side.length);
  for (const p of select) isSelected[p] = 1;
  for (let p = 0; p < side.length; p++) if (!isSelected[p]) side[p] = aside;
}

/** Gives each set of points on the plane that hang together along it one side. */
function settle(isOn: Uint8Array, side: Uint8Array, triangles: Uint32Array, runs: Runs): void {
  const sets = new DisjointSets(side.length);
  const reachesDown = new Uint8Array(side.length);
  for (let r = 0; r < runs.length; r += 2)
    for (let t = runs[r]; t < runs[r + 1]; t += 3) {
      const a = triangles[t];
      const b = triangles[t + 1];
      const c = triangles[t + 2];
      if (!(isOn[a] || isOn[b] || isOn[c])) continue;
      if (isOn[a] && isOn[b]) sets.merge(a, b);
      if (isOn[b] && isOn[c]) sets.merge(b, c);
      if (isOn[c] && isOn[a]) sets.merge(c, a);
      if (side[a] !== lower && side[b] !== lower && side[c] !== lower) continue;
      if (isOn[a]) reachesDown[a] = 1;
      if (isOn[b]) reachesDown[b] = 1;
      if (isOn[c]) reachesDown[c] = 1;
    }
  for (let p = 0; p < isOn.length; p++) if (reachesDown[p]) reachesDown[sets.find(p)] = 1;
  for (let p = 0; p < isOn.length; p++) if (isOn[p]) side[p] = reachesDown[sets.find(p)] ? upper : lower;
}
