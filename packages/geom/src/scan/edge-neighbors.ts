import { dot, length, scale, type Vec3 } from '../math/vec3.js';
import { pointTriangles } from './adjacency.js';
import type { Mesh } from './scan.js';
import { triangleNormal } from './triangle-normal.js';

/** No triangle across an edge. */
export const border = 1;

/** The triangle a code from {@link EdgeNeighbors.across} stands for, which is not {@link border}. */
export const neighborOf = (code: number): number => (code >>> 1) - 1;

/** Whether that triangle runs along the shared edge the same way, so that one of the two is turned over: 1 or 0. */
export const isTurnedOver = (code: number): number => code & 1;

const known = new WeakMap<Uint32Array, EdgeNeighbors>();

/** The neighbors of a mesh's triangles across their edges. Kept with the triangles. */
export function edgeNeighbors(mesh: Mesh): EdgeNeighbors {
  const before = known.get(mesh.triangles);
  if (before?.positions === mesh.positions) return before;
  const neighbors = new EdgeNeighbors(mesh);
  known.set(mesh.triangles, neighbors);
  return neighbors;
}

/** Each edge is looked up when first asked for: growing over one face of a large scan need not know the others. */
export class EdgeNeighbors {
  readonly positions: Float64Array;
  readonly #corners: Uint32Array;
  readonly #offsets: Uint32Array;
  readonly #around: Uint32Array;
  readonly #codes: Uint32Array;

  constructor(mesh: Mesh) {
    this.positions = mesh.positions;
    this.#corners = mesh.triangles;
    const { offsets, triangles } = pointTriangles(mesh);
    this.#offsets = offsets;
    this.#around = triangles;
    this.#codes = new Uint32Array(mesh.triangles.length);
  }

  /**
   * What is across edge k of triangle t, from its corner k to the next, by `edge` 3 t + k: {@link border}, or a code for
   * {@link neighborOf} and {@link isTurnedOver}. Where there are several triangles it is the one that turns least.
   */
  across(edge: number): number {
    const code = this.#codes[edge];
    return code !== 0 ? code : this.#find(edge);
  }

  #find(edge: number): number {
    const corners = this.#corners;
    const t = Math.floor(edge / 3);
    const p = corners[edge];
    const q = corners[3 * t + ((edge + 1) % 3)];
    let code = border;
    let several = false;
    for (let i = this.#offsets[p]; i < this.#offsets[p + 1]; i++) {
      const other = this.#around[i];
      const runs = this.#runsAlong(other, p, q);
      if (other === t || runs === 0) continue;
      several ||= code !== border;
      code = 2 * other + 2 + (runs > 0 ? 1 : 0);
    }
    if (several) code = this.#leastTurn(t, p, q);
    this.#codes[edge] = code;
    return code;
  }

  /** 1 if a triangle runs from p to q, -1 from q to p, 0 if it has no such edge. */
  #runsAlong(t: number, p: number, q: number): number {
    const a = this.#corners[3 * t];
    const b = this.#corners[3 * t + 1];
    const c = this.#corners[3 * t + 2];
    if (p === q) return 0;
    if ((a === p && b === q) || (b === p && c === q) || (c === p && a === q)) return 1;
    if ((a === q && b === p) || (b === q && c === p) || (c === q && a === p)) return -1;
    return 0;
  }

  #leastTurn(t: number, p: number, q: number): number {
    let code = border;
    let best = -Infinity;
    const own = unitNormal(this.positions, this.#corners, t);
    for (let i = this.#offsets[p]; i < this.#offsets[p + 1]; i++) {
      const other = this.#around[i];
      const runs = this.#runsAlong(other, p, q);
      if (other === t || runs === 0) continue;
      const facing = -runs * dot(own, unitNormal(this.positions, this.#corners, other));
      if (facing <= best) continue;
      best = facing;
      code = 2 * other + 2 + (runs > 0 ? 1 : 0);
    }
    return code;
  }
}

function unitNormal(positions: Float64Array, triangles: Uint32Array, t: number): Vec3 {
  const normal = triangleNormal(positions, triangles, t);
  const size = length(normal);
  return size > 0 ? scale(normal, 1 / size) : normal;
}
