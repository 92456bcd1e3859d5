import { LocalPlane } from '../scan/local-plane.js';
import { type PointIndex, pointIndex } from '../scan/point-index.js';
import type { Points } from '../scan/scan.js';
import { surfaceNoise } from '../scan/surface-noise.js';
import { Front } from './front.js';
import { smoothingRadius, type Turning } from './smoothing.js';

/** Fewer points than this give no normal, whatever the radius. */
const fewest = 6;

/** Points farther than this many deviations off the plane of those about them are strays. */
const strayAt = 4;

/**
 * Grows over the points of a cloud, from a point to those no farther than `gap` from it. A normal is that of the plane through the
 * points within the smoothing radius, estimated when a point is first met, and faces as that of the point it is met from.
 * Strays off the surface are passed over.
 */
export function growOnCloud(
  points: Points,
  seed: number,
  spacing: number,
  gap: number,
  limits: Turning,
  smoothing?: number,
): Uint32Array {
  const { positions } = points;
  const index = pointIndex(points);
  const radius = smoothing ?? Math.max(3 * spacing, radiusAt(index, seed, spacing, limits));
  const front = new Front(positions.length / 3, seed, limits, spacing, radius);
  const plane = new LocalPlane();
  const add = (p: number): void => plane.add(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);

  /** False for a stray. */
  const write = (p: number, from: number): boolean => {
    const x = positions[3 * p];
    const y = positions[3 * p + 1];
    const z = positions[3 * p + 2];
    plane.start(x, y, z);
    index.eachWithin(x, y, z, radius, add);
    if (plane.count < fewest || !plane.solve()) return false;
    const { nx, ny, nz } = plane;
    const off = Math.abs(nx * (x - plane.cx) + ny * (y - plane.cy) + nz * (z - plane.cz));
    const { normals, places } = front;
    const along = nx * normals[3 * from] + ny * normals[3 * from + 1] + nz * normals[3 * from + 2];
    const sign = along < 0 ? -1 : 1;
    normals[3 * p] = sign * nx;
    normals[3 * p + 1] = sign * ny;
    normals[3 * p + 2] = sign * nz;
    places[3 * p] = x;
    places[3 * p + 1] = y;
    places[3 * p + 2] = z;
    return off <= strayAt * plane.rms + 1e-9 * radius;
  };

  write(seed, seed);
  const strayed = 3;
  let from = seed;
  const meet = (p: number): void => {
    if (front.state[p] >= 2) return;
    if (front.state[p] === 0) front.state[p] = write(p, from) ? 1 : strayed;
    if (front.state[p] === 1) front.reach(p, from);
  };
  for (let i = 0; i < front.reached.length; i++) {
    from = front.reached[i];
    index.eachWithin(positions[3 * from], positions[3 * from + 1], positions[3 * from + 2], gap, meet);
  }
  return Uint32Array.from(front.reached).sort();
}

function radiusAt(index: PointIndex, seed: number, spacing: number, limits: Turning): number {
  const about = 4 * spacing;
  const { positions } = index;
  const near = index.within([positions[3 * seed], positions[3 * seed + 1], positions[3 * seed + 2]], about);
  // Points at random places are closer to their nearest than points in rows of the same density.
  const apart = Math.max(spacing, about * Math.sqrt(Math.PI / near.length));
  return smoothingRadius(surfaceNoise(positions, near), apart, limits);
}
