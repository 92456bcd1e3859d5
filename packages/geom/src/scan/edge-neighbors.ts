import { dot, length, scale, type Vec3 } from '../math/vec3.js';
import { pointTriangles } from './adjacency.js';
import type { Mesh } from './scan.js';
import { triangleNormal } from './triangle-normal.js';

/** No triangle there. */
export const noNeighbor = 0xffffffff;

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
  /** For each edge: 0 not looked up; else 1 for none, or 2 · triangle + 2, one more where it is turned over. */
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
   * The triangle across edge k of triangle t, from its corner k to the next; where there are several the one that turns least.
   * {@link noNeighbor} at a border.
   */
  across(t: number, k: number): number {
    const code = this.#code(3 * t + k);
    return code === 1 ? noNeighbor : (code >>> 1) - 1;
  }

  /** Whether that triangle runs along the shared edge the same way, so that one of the two is turned over. */
  isTurnedOver(t: number, k: number): boolean {
    const code = this.#code(3 * t + k);
    return code !== 1 && (code & 1) === 1;
  }

  #code(edge: number): number {
    const before = this.#codes[edge];
    if (before !== 0) return before;
    const corners = this.#corners;
    const t = Math.floor(edge / 3);
    const p = corners[edge];
    const q = corners[3 * t + ((edge + 1) % 3)];
    let code = 1;
    let several = false;
    for (let i = this.#offsets[p]; i < this.#offsets[p + 1]; i++) {
      const other = this.#around[i];
      const runs = this.#runsAlong(other, p, q);
      if (other === t || runs === 0) continue;
      several ||= code !== 1;
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
    let code = 1;
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
