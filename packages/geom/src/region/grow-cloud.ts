import { LocalPlane } from '../scan/local-plane.js';
import { type PointIndex, pointIndex } from '../scan/point-index.js';
import type { Points } from '../scan/scan.js';
import { surfaceNoise } from '../scan/surface-noise.js';
import { Front, left, reached, unseen, waiting } from './front.js';
import type { Growth } from './growth.js';
import { smoothingRadius, type Turning } from './smoothing.js';

/** Fewer points than this give no normal, whatever the radius. */
const fewest = 6;

/** Points farther than this many deviations off the plane of those about them are strays: deviations of those, or of the seed's. */
const strayAt = 6;

/**
 * Grows over the points of a cloud, from a point to those no farther than a gap from it. A normal is that of the plane through the
 * points within the smoothing radius, estimated when a point is first met, and faces as that of the point it is met from.
 * Strays off the surface are passed over.
 */
export class CloudGrowth implements Growth {
  readonly #index: PointIndex;
  readonly #positions: Float64Array;
  readonly #front: Front;
  readonly #noise: number;
  readonly #radius: number;
  readonly #gap: number;
  readonly #plane = new LocalPlane();
  readonly #queue: number[];
  #next = 0;
  /** The point whose plane is sought. */
  #itself = 0;

  constructor(
    points: Points,
    seed: number,
    spacing: number,
    maxGap: number | undefined,
    limits: Turning,
    smoothing?: number,
  ) {
    const index = pointIndex(points);
    const { noise, apart } = patchAt(index, seed, spacing);
    this.#index = index;
    this.#positions = points.positions;
    this.#noise = noise;
    this.#radius = smoothing ?? Math.max(2.5 * apart, smoothingRadius(noise, apart, limits));
    this.#gap = maxGap ?? 2 * apart;
    this.#front = new Front(points.positions, seed, limits, spacing, this.#radius);
    this.#queue = [seed];
    this.#write(seed, seed);
    this.#front.begin();
  }

  readonly #add = (p: number): void => {
    const positions = this.#positions;
    if (p !== this.#itself) this.#plane.add(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
  };

  /** Puts a point's normal into the front; false for a stray off the plane of the others. */
  #write(p: number, from: number): boolean {
    const plane = this.#plane;
    const positions = this.#positions;
    const radius = this.#radius;
    const x = positions[3 * p];
    const y = positions[3 * p + 1];
    const z = positions[3 * p + 2];
    plane.start(x, y, z);
    this.#itself = p;
    this.#index.eachWithin(x, y, z, radius, this.#add);
    if (plane.count < fewest || !plane.solve()) return false;
    const { nx, ny, nz } = plane;
    const off = Math.abs(nx * (x - plane.cx) + ny * (y - plane.cy) + nz * (z - plane.cz));
    const { normals } = this.#front;
    const along = nx * normals[3 * from] + ny * normals[3 * from + 1] + nz * normals[3 * from + 2];
    const sign = along < 0 ? -1 : 1;
    normals[3 * p] = sign * nx;
    normals[3 * p + 1] = sign * ny;
    normals[3 * p + 2] = sign * nz;
    return off <= strayAt * Math.max(plane.rms, this.#noise) + 1e-9 * radius;
  }

  go(count: number): boolean {
    const positions = this.#positions;
    const front = this.#front;
    const queue = this.#queue;
    const near: number[] = [];
    const collect = (p: number): void => {
      near.push(p);
    };
    const end = this.#next + count;
    let i = this.#next;
    for (; i < queue.length && i < end; i++) {
      const p = queue[i];
      near.length = 0;
      this.#index.eachWithin(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2], this.#gap, collect);
      if (i > 0 && !front.decide(p, near, near.length)) continue;
      for (const q of near) {
        if (front.state[q] !== unseen) continue;
        front.state[q] = this.#write(q, p) ? waiting : left;
        if (front.state[q] === waiting) queue.push(q);
      }
    }
    this.#next = i;
    return i >= queue.length;
  }

  points(): Uint32Array {
    const { state } = this.#front;
    return Uint32Array.from(this.#queue.filter((p) => state[p] === reached)).sort();
  }
}

/** The noise of the points about the seed, and how far they are apart, mm. */
function patchAt(index: PointIndex, seed: number, spacing: number): { noise: number; apart: number } {
  const about = 4 * spacing;
  const { positions } = index;
  const near = index.within([positions[3 * seed], positions[3 * seed + 1], positions[3 * seed + 2]], about);
  // Points at random places are closer to their nearest than points in rows of the same density.
  const apart = Math.max(1.2 * spacing, about * Math.sqrt(Math.PI / near.length));
  return { noise: surfaceNoise(positions, near), apart };
}
