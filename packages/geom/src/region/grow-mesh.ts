import { type EdgeNeighbors, edgeNeighbors, noNeighbor } from '../scan/edge-neighbors.js';
import type { Mesh } from '../scan/scan.js';
import { surfaceNoise } from '../scan/surface-noise.js';
import { Front, reached, turnedDown, unseen, waiting } from './front.js';
import { smoothingRadius, type Turning } from './smoothing.js';

/**
 * Grows over the triangles of a mesh, across their edges, from a triangle. Returns the points of the triangles reached.
 *
 * Each triangle's normal is the mean over the connected surface about it, by area and fading to nothing at the smoothing radius;
 * without noise that is its own normal, and coarse meshes with sharp edges are followed facet by facet. Triangles turned over
 * are turned back as they are met.
 */
export function growOnMesh(
  mesh: Mesh,
  seed: number,
  spacing: number,
  limits: Turning,
  smoothing?: number,
): Uint32Array {
  const surface = new Surface(mesh, spacing);
  const wanted = smoothing ?? smoothingRadius(surface.noiseAt(seed), spacing, limits);
  // Less than the reach of a triangle's neighbors is none.
  const radius = wanted < 1.5 * spacing && smoothing === undefined ? 0 : wanted;
  const count = mesh.triangles.length / 3;
  const front = new Front(count, seed, limits, spacing, radius);
  // 1 where a triangle's own normal points the other way than the seed's.
  const isOver = new Uint8Array(count);
  surface.write(seed, radius, false, front);
  const { neighbors } = surface;
  front.begin();
  const queue = [seed];
  const near = new Uint32Array(3);
  for (let i = 0; i < queue.length; i++) {
    const t = queue[i];
    let count = 0;
    for (let k = 0; k < 3; k++) {
      const next = neighbors.across(t, k);
      if (next !== noNeighbor) near[count++] = next;
    }
    if (t !== seed && !front.decide(t, near, count)) continue;
    for (let k = 0; k < 3; k++) {
      const next = neighbors.across(t, k);
      if (next === noNeighbor) continue;
      const state = front.state[next];
      if (state !== unseen && state !== turnedDown) continue;
      if (state === unseen) {
        isOver[next] = isOver[t] ^ (neighbors.isTurnedOver(t, k) ? 1 : 0);
        surface.write(next, radius, isOver[next] === 1, front);
      }
      front.state[next] = waiting;
      queue.push(next);
    }
  }
  return cornersOf(mesh, front.state);
}

function cornersOf({ positions, triangles }: Mesh, state: Uint8Array): Uint32Array {
  const marks = new Uint8Array(positions.length / 3);
  for (let t = 0; t < state.length; t++)
    if (state[t] === reached) marks[triangles[3 * t]] = marks[triangles[3 * t + 1]] = marks[triangles[3 * t + 2]] = 1;
  const found: number[] = [];
  for (let p = 0; p < marks.length; p++) if (marks[p] === 1) found.push(p);
  return Uint32Array.from(found);
}

/** Patches of a mesh about a triangle. */
class Surface {
  readonly neighbors: EdgeNeighbors;
  readonly #mesh: Mesh;
  readonly #spacing: number;
  /** Which patch a triangle was last met in, and how it faces there. */
  readonly #patch: Uint32Array;
  readonly #facing: Int8Array;
  #patches = 0;
  readonly #queue: number[] = [];
  /** Normal, twice its area long, and centroid of the triangle last read. */
  #nx = 0;
  #ny = 0;
  #nz = 0;
  #x = 0;
  #y = 0;
  #z = 0;

  constructor(mesh: Mesh, spacing: number) {
    this.#mesh = mesh;
    this.#spacing = spacing;
    this.neighbors = edgeNeighbors(mesh);
    this.#patch = new Uint32Array(mesh.triangles.length / 3);
    this.#facing = new Int8Array(mesh.triangles.length / 3);
  }

  /** Puts a triangle's centroid and smoothed normal, turned over if asked, into the front. */
  write(seed: number, radius: number, isOver: boolean, front: Front): void {
    this.#read(seed);
    const [x, y, z] = [this.#x, this.#y, this.#z];
    let nx = this.#nx;
    let ny = this.#ny;
    let nz = this.#nz;
    if (radius > 0) {
      nx = ny = nz = 0;
      this.#visit(seed, radius, (_, facing, square) => {
        const weight = facing * (1 - square / (radius * radius));
        nx += weight * this.#nx;
        ny += weight * this.#ny;
        nz += weight * this.#nz;
      });
    }
    const length = (isOver ? -1 : 1) * Math.sqrt(nx * nx + ny * ny + nz * nz);
    front.places[3 * seed] = x;
    front.places[3 * seed + 1] = y;
    front.places[3 * seed + 2] = z;
    if (length === 0) return;
    front.normals[3 * seed] = nx / length;
    front.normals[3 * seed + 1] = ny / length;
    front.normals[3 * seed + 2] = nz / length;
  }

  /** How far points lie off the surface about a triangle, mm; sharp edges are not crossed. */
  noiseAt(seed: number): number {
    this.#read(seed);
    const [sx, sy, sz] = [this.#nx, this.#ny, this.#nz];
    const size = Math.hypot(sx, sy, sz);
    const points = new Set<number>();
    const { triangles } = this.#mesh;
    this.#visit(seed, 4 * this.#spacing, (t, facing) => {
      const along = facing * (sx * this.#nx + sy * this.#ny + sz * this.#nz);
      if (along < 0.5 * size * Math.hypot(this.#nx, this.#ny, this.#nz)) return;
      for (let k = 0; k < 3; k++) points.add(triangles[3 * t + k]);
    });
    return surfaceNoise(this.#mesh.positions, Array.from(points));
  }

  /** Visits the triangles connected to one whose centroids are within a radius of its own, with that triangle read. */
  #visit(seed: number, radius: number, visit: (t: number, facing: number, squaredDistance: number) => void): void {
    const patch = ++this.#patches;
    const queue = this.#queue;
    this.#read(seed);
    const [x, y, z] = [this.#x, this.#y, this.#z];
    queue.length = 0;
    queue.push(seed);
    this.#patch[seed] = patch;
    this.#facing[seed] = 1;
    visit(seed, 1, 0);
    for (let i = 0; i < queue.length; i++) {
      const t = queue[i];
      for (let k = 0; k < 3; k++) {
        const next = this.neighbors.across(t, k);
        if (next === noNeighbor || this.#patch[next] === patch) continue;
        this.#patch[next] = patch;
        this.#read(next);
        const square = (this.#x - x) ** 2 + (this.#y - y) ** 2 + (this.#z - z) ** 2;
        if (square > radius * radius) continue;
        this.#facing[next] = this.neighbors.isTurnedOver(t, k) ? -this.#facing[t] : this.#facing[t];
        queue.push(next);
        visit(next, this.#facing[next], square);
      }
    }
  }

  #read(t: number): void {
    const { positions, triangles } = this.#mesh;
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const ax = positions[a];
    const ay = positions[a + 1];
    const az = positions[a + 2];
    const ux = positions[b] - ax;
    const uy = positions[b + 1] - ay;
    const uz = positions[b + 2] - az;
    const vx = positions[c] - ax;
    const vy = positions[c + 1] - ay;
    const vz = positions[c + 2] - az;
    this.#nx = uy * vz - uz * vy;
    this.#ny = uz * vx - ux * vz;
    this.#nz = ux * vy - uy * vx;
    this.#x = ax + (ux + vx) / 3;
    this.#y = ay + (uy + vy) / 3;
    this.#z = az + (uz + vz) / 3;
  }
}
