import type { Vec3 } from '../../math/vec3.js';
import { border, type EdgeNeighbors, edgeNeighbors, isTurnedOver, neighborOf } from '../../scan/edge-neighbors.js';
import type { Mesh } from '../../scan/scan.js';
import { surfaceNoise } from '../../scan/surface-noise.js';
import type { Front } from './front.js';
import { tiltAt } from './grain.js';
import type { Sides } from './growth-ends.js';

const known = new WeakMap<Uint32Array, Surface>();

/** Kept with the triangles: what was measured of them for one seed serves the next. */
export function surfaceOf(mesh: Mesh): Surface {
  const before = known.get(mesh.triangles);
  if (before?.positions === mesh.positions) return before;
  const surface = new Surface(mesh);
  known.set(mesh.triangles, surface);
  return surface;
}

/** Patches of a mesh about a triangle. */
export class Surface {
  readonly positions: Float64Array;
  readonly neighbors: EdgeNeighbors;
  readonly #mesh: Mesh;
  /** The patch of the last question: its triangles, and whether each is turned over against the first. */
  readonly #patch: number[] = [];
  readonly #isOver: Uint8Array;
  /** The number of the question a triangle was last met in. */
  readonly #met: Uint32Array;
  #question = 0;
  /** Normals, twice the areas long, and centroids of triangles, once they are met. */
  readonly #normals: Float64Array;
  readonly centroids: Float64Array;

  constructor(mesh: Mesh) {
    const count = mesh.triangles.length / 3;
    this.#mesh = mesh;
    this.positions = mesh.positions;
    this.neighbors = edgeNeighbors(mesh);
    this.#isOver = new Uint8Array(count);
    this.#met = new Uint32Array(count);
    this.#normals = new Float64Array(3 * count);
    this.centroids = new Float64Array(3 * count);
  }

  /** Measures a triangle, and puts its smoothed normal, turned over if asked, into the front. */
  write(seed: number, radius: number, isOver: number, front: Front): void {
    const { normals } = front;
    this.#find(seed, radius);
    const own = this.#normals;
    const centroids = this.centroids;
    const x = centroids[3 * seed];
    const y = centroids[3 * seed + 1];
    const z = centroids[3 * seed + 2];
    let nx = own[3 * seed];
    let ny = own[3 * seed + 1];
    let nz = own[3 * seed + 2];
    for (let i = 1; i < this.#patch.length; i++) {
      const t = this.#patch[i];
      const dx = centroids[3 * t] - x;
      const dy = centroids[3 * t + 1] - y;
      const dz = centroids[3 * t + 2] - z;
      const fade = 1 - (dx * dx + dy * dy + dz * dz) / (radius * radius);
      const weight = this.#isOver[t] ? -fade : fade;
      nx += weight * own[3 * t];
      ny += weight * own[3 * t + 1];
      nz += weight * own[3 * t + 2];
    }
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (length === 0) return;
    const scale = (isOver ? -1 : 1) / length;
    normals[3 * seed] = scale * nx;
    normals[3 * seed + 1] = scale * ny;
    normals[3 * seed + 2] = scale * nz;
  }

  /** How far points lie off the surface about a triangle, mm; what turns more than 60° away from it is left out. */
  noiseAt(seed: number, radius: number): number {
    this.#find(seed, radius);
    const own = this.#normals;
    const size = (t: number): number => Math.hypot(own[3 * t], own[3 * t + 1], own[3 * t + 2]);
    const points = new Set<number>();
    for (const t of this.#patch) {
      const along =
        own[3 * seed] * own[3 * t] + own[3 * seed + 1] * own[3 * t + 1] + own[3 * seed + 2] * own[3 * t + 2];
      if ((this.#isOver[t] ? -along : along) < 0.5 * size(seed) * size(t)) continue;
      for (let k = 0; k < 3; k++) points.add(this.#mesh.triangles[3 * t + k]);
    }
    return surfaceNoise(this.#mesh.positions, Array.from(points));
  }

  /** How far the normal averaged over a radius about a triangle may be tilted, radians; 0 where too few points tell. */
  tiltAt(seed: number, radius: number): number {
    if (radius === 0) return 0;
    const { positions } = this;
    const within = (wide: number) => this.#pointsWithin(seed, wide);
    this.#find(seed, 0);
    const place: Vec3 = [this.centroids[3 * seed], this.centroids[3 * seed + 1], this.centroids[3 * seed + 2]];
    return tiltAt({ positions, place, within }, radius) ?? 0;
  }

  #pointsWithin(seed: number, radius: number): ArrayLike<number> {
    this.#find(seed, radius);
    const { triangles } = this.#mesh;
    const points = new Set<number>();
    for (const t of this.#patch) for (let k = 0; k < 3; k++) points.add(triangles[3 * t + k]);
    return Array.from(points);
  }

  /** The surface about a triangle, inside a region and outside; undefined where there is none outside. */
  sidesOf(seed: number, radius: number, isInside: (triangle: number) => boolean): Sides | undefined {
    const inside = [0, 0, 0];
    const outside = [0, 0, 0];
    this.#find(seed, radius);
    const add = (t: number, isOver: boolean) => {
      const sum = isInside(t) ? inside : outside;
      for (let k = 0; k < 3; k++) sum[k] += (isOver ? -1 : 1) * this.#normals[3 * t + k];
    };
    for (const t of this.#patch) add(t, this.#isOver[t] === 1);
    if (radius === 0)
      for (let edge = 3 * seed; edge < 3 * seed + 3; edge++) {
        const code = this.neighbors.across(edge);
        if (code !== border && isInside(neighborOf(code))) add(neighborOf(code), isTurnedOver(code) === 1);
      }
    return outside.some((c) => c !== 0) ? { inside, outside } : undefined;
  }

  /** Finds the triangles connected to one whose centroids are no farther than a radius from its own. */
  #find(seed: number, radius: number): void {
    const patch = this.#patch;
    const met = this.#met;
    const isOver = this.#isOver;
    const centroids = this.centroids;
    const { neighbors } = this;
    const question = ++this.#question;
    if (met[seed] === 0) this.#measure(seed);
    patch.length = 0;
    patch.push(seed);
    met[seed] = question;
    isOver[seed] = 0;
    if (radius === 0) return;
    const x = centroids[3 * seed];
    const y = centroids[3 * seed + 1];
    const z = centroids[3 * seed + 2];
    for (let i = 0; i < patch.length; i++) {
      const t = patch[i];
      for (let edge = 3 * t; edge < 3 * t + 3; edge++) {
        const code = neighbors.across(edge);
        if (code === border) continue;
        const next = neighborOf(code);
        if (met[next] === question) continue;
        if (met[next] === 0) this.#measure(next);
        met[next] = question;
        const dx = centroids[3 * next] - x;
        const dy = centroids[3 * next + 1] - y;
        const dz = centroids[3 * next + 2] - z;
        if (dx * dx + dy * dy + dz * dz > radius * radius) continue;
        isOver[next] = isOver[t] ^ isTurnedOver(code);
        patch.push(next);
      }
    }
  }

  #measure(t: number): void {
    const { positions, triangles } = this.#mesh;
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const ux = positions[b] - positions[a];
    const uy = positions[b + 1] - positions[a + 1];
    const uz = positions[b + 2] - positions[a + 2];
    const vx = positions[c] - positions[a];
    const vy = positions[c + 1] - positions[a + 1];
    const vz = positions[c + 2] - positions[a + 2];
    this.#normals[3 * t] = uy * vz - uz * vy;
    this.#normals[3 * t + 1] = uz * vx - ux * vz;
    this.#normals[3 * t + 2] = ux * vy - uy * vx;
    this.centroids[3 * t] = positions[a] + (ux + vx) / 3;
    this.centroids[3 * t + 1] = positions[a + 1] + (uy + vy) / 3;
    this.centroids[3 * t + 2] = positions[a + 2] + (uz + vz) / 3;
  }
}
