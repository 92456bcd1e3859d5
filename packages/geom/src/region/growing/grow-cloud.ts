import { LocalPlane } from '../../scan/local-plane.js';
import { type PointIndex, pointIndex } from '../../scan/point-index.js';
import type { Points } from '../../scan/scan.js';
import { Front, left, reached, unseen, waiting } from './front.js';
import type { Growth, GrowthEnds, SeedNormal } from './growth.js';
import { endsOf } from './growth-ends.js';
import type { Turning } from './smoothing.js';

/** Fewer points than this give no normal, whatever the radius. */
const fewest = 6;

/** Points farther than this many deviations off the plane of those about them are strays: deviations of those, or of the seed's. */
const strayAt = 6;

/** A point is at the border where the mean of those within a gap is off it by this share of the gap; at a straight border it is 0.42. */
const oneSided = 0.3;

/** mm: the noise of single points about the seed, the radius normals are averaged over, and the widest gap that is crossed. */
export interface CloudLimits {
  readonly noise: number;
  readonly radius: number;
  /** Of the seed's normal, radians. */
  readonly tilt: number;
  readonly gap: number;
}

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
  readonly normal: SeedNormal;
  #next = 0;
  #atBorder = 0;
  #strays = 0;
  /** The point whose plane is sought. */
  #itself = 0;

  /** @param spacing the one steps are counted by, mm */
  constructor(
    points: Points,
    seed: number,
    spacing: number,
    limits: Turning,
    { noise, radius, gap, tilt }: CloudLimits,
  ) {
    this.normal = { radius, tilt };
    this.#index = pointIndex(points);
    this.#positions = points.positions;
    this.#noise = noise;
    this.#radius = radius;
    this.#gap = gap;
    this.#front = new Front(points.positions, seed, limits, spacing, radius);
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
        else this.#strays++;
      }
      if (this.#isAtBorder(p, near)) this.#atBorder++;
    }
    this.#next = i;
    return i >= queue.length;
  }

  /** Whether the points within a gap of one lie to one side of it. */
  #isAtBorder(p: number, near: readonly number[]): boolean {
    const positions = this.#positions;
    let [x, y, z] = [0, 0, 0];
    for (const q of near) {
      x += positions[3 * q] - positions[3 * p];
      y += positions[3 * q + 1] - positions[3 * p + 1];
      z += positions[3 * q + 2] - positions[3 * p + 2];
    }
    return Math.sqrt(x * x + y * y + z * z) > oneSided * this.#gap * near.length;
  }

  ends(): GrowthEnds {
    const { normals, state } = this.#front;
    const positions = this.#positions;
    const about = (p: number): readonly number[] =>
      Array.from(this.#index.within([positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]], this.#radius));
    const outside = new LocalPlane();
    return endsOf(this.#front.turnedDown(), { border: this.#atBorder, noise: this.#strays }, (p) => {
      outside.start(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
      const inside = [0, 0, 0];
      for (const q of about(p)) {
        if (state[q] === reached) for (let k = 0; k < 3; k++) inside[k] += normals[3 * q + k];
        else outside.add(positions[3 * q], positions[3 * q + 1], positions[3 * q + 2]);
      }
      if (outside.count < fewest || !outside.solve()) return undefined;
      return { inside, outside: [outside.nx, outside.ny, outside.nz] };
    });
  }

  points(): Uint32Array {
    const { state } = this.#front;
    return Uint32Array.from(this.#queue.filter((p) => state[p] === reached)).sort();
  }
}
