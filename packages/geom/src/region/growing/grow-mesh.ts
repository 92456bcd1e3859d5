import { marked } from '../../math/marks.js';
import { border, isTurnedOver, neighborOf } from '../../scan/edge-neighbors.js';
import type { Mesh } from '../../scan/scan.js';
import { Front, reached, turnedDown, unseen, waiting } from './front.js';
import type { Growth, GrowthEnds, SeedNormal } from './growth.js';
import { endsOf } from './growth-ends.js';
import { type Surface, surfaceOf } from './mesh-surface.js';
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
  readonly #seed: number;
  #next = 0;
  #atBorder = 0;

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
    this.#seed = seed;
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
      if (known < 3) this.#atBorder++;
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

  get normal(): SeedNormal {
    return { radius: this.#radius, tilt: this.#surface.tiltAt(this.#seed, this.#radius) };
  }

  ends(): GrowthEnds {
    const front = this.#front;
    return endsOf(front.turnedDown(), { border: this.#atBorder, noise: 0 }, (t) =>
      this.#surface.sidesOf(t, this.#radius, (other) => front.state[other] === reached),
    );
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
