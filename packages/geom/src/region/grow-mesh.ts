import { marked } from '../prepare/prepared.js';
import { border, type EdgeNeighbors, edgeNeighbors, isTurnedOver, neighborOf } from '../scan/edge-neighbors.js';
import type { Mesh } from '../scan/scan.js';
import { surfaceNoise } from '../scan/surface-noise.js';
import { Front, reached, turnedDown, unseen, waiting } from './front.js';
import type { Growth } from './growth.js';
import { smoothingRadius, type Turning } from './smoothing.js';

/**
 * Grows over the triangles of a mesh, across their edges, from a triangle.
 *
 * Each triangle's normal is the mean over the connected surface about it, by area and fading to nothing at the smoothing radius;
 * without noise that is its own normal, and coarse meshes with sharp edges are followed facet by facet. Triangles turned over
 * are turned back as they are met.
 */
export class MeshGrowth implements Growth {
  readonly #mesh: Mesh;
  readonly #surface: Surface;
  readonly #front: Front;
  readonly #radius: number;
  readonly #queue: number[];
  /** 1 where a triangle's own normal points the other way than the seed's. */
  readonly #isOver: Uint8Array;
  readonly #near = new Uint32Array(3);
  #next = 0;

  constructor(mesh: Mesh, seed: number, spacing: number, limits: Turning, smoothing?: number) {
    const surface = surfaceOf(mesh);
    const wanted = smoothing ?? smoothingRadius(surface.noiseAt(seed, 4 * spacing), spacing, limits);
    // Less than the reach of a triangle's neighbors is none.
    const radius = wanted < 1.5 * spacing && smoothing === undefined ? 0 : wanted;
    this.#mesh = mesh;
    this.#surface = surface;
    this.#radius = radius;
    this.#front = new Front(surface.centroids, seed, limits, spacing, radius);
    this.#isOver = new Uint8Array(mesh.triangles.length / 3);
    this.#queue = [seed];
    surface.write(seed, radius, 0, this.#front);
    this.#front.begin();
  }

  go(count: number): boolean {
    const { neighbors } = this.#surface;
    const surface = this.#surface;
    const front = this.#front;
    const queue = this.#queue;
    const near = this.#near;
    const isOver = this.#isOver;
    const radius = this.#radius;
    const end = this.#next + count;
    let i = this.#next;
    for (; i < queue.length && i < end; i++) {
      const t = queue[i];
      let known = 0;
      for (let k = 0; k < 3; k++) {
        const code = neighbors.across(3 * t + k);
        if (code !== border) near[known++] = neighborOf(code);
      }
      if (i > 0 && !front.decide(t, near, known)) continue;
      for (let k = 0; k < 3; k++) {
        const code = neighbors.across(3 * t + k);
        if (code === border) continue;
        const next = neighborOf(code);
        const state = front.state[next];
        if (state !== unseen && state !== turnedDown) continue;
        if (state === unseen) {
          isOver[next] = isOver[t] ^ isTurnedOver(code);
          surface.write(next, radius, isOver[next], front);
        }
        front.state[next] = waiting;
        queue.push(next);
      }
    }
    this.#next = i;
    return i >= queue.length;
  }

  points(): Uint32Array {
    const { positions, triangles } = this.#mesh;
    const { state } = this.#front;
    const marks = new Uint8Array(positions.length / 3);
    for (const t of this.#queue)
      if (state[t] === reached) marks[triangles[3 * t]] = marks[triangles[3 * t + 1]] = marks[triangles[3 * t + 2]] = 1;
    return marked(marks);
  }
}

const known = new WeakMap<Uint32Array, Surface>();

/** Kept with the triangles: what was measured of them for one seed serves the next. */
function surfaceOf(mesh: Mesh): Surface {
  const before = known.get(mesh.triangles);
  if (before?.positions === mesh.positions) return before;
  const surface = new Surface(mesh);
  known.set(mesh.triangles, surface);
  return surface;
}

/** Patches of a mesh about a triangle. */
class Surface {
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
