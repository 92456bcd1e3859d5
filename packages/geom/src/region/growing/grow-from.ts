import type { Vec3 } from '../../math/vec3.js';
import { pointIndex } from '../../scan/point-index.js';
import type { Points } from '../../scan/scan.js';
import { surfaceNoise } from '../../scan/surface-noise.js';
import { grainAt, tiltAt } from './grain.js';
import { CellGrowth } from './grow-cells.js';
import { CloudGrowth } from './grow-cloud.js';
import type { Growth } from './growth.js';
import { smoothingRadius, type Turning } from './smoothing.js';

/** Cells this share of the radius normals are averaged over: some eighty to a normal. */
const cellShare = 1 / 5;
/** Gaps of fewer steps of rounded coordinates are crossed. */
const stepsCrossed = 1.5;

/** Begins at a point of a cloud, over points where these are many enough for normals, over cells where it takes very many. */
export function growCloud(
  points: Points,
  seed: number,
  spacing: number,
  limits: Turning,
  { smoothing, maxGap }: { readonly smoothing?: number; readonly maxGap?: number },
): Growth {
  const index = pointIndex(points);
  const { positions } = points;
  const place: Vec3 = [positions[3 * seed], positions[3 * seed + 1], positions[3 * seed + 2]];
  const within = (radius: number) => index.within(place, radius);
  const about = 4 * spacing;
  const near = within(about);
  // Points at random places are closer to their nearest than points in rows of the same density.
  const apart = Math.max(1.2 * spacing, about * Math.sqrt(Math.PI / near.length));
  const noise = surfaceNoise(positions, near);
  const least = Math.max(2.5 * apart, smoothingRadius(noise, apart, limits));
  if (smoothing !== undefined) {
    const gap = maxGap ?? 2 * apart;
    const tilt = tiltAt({ positions, place, within }, smoothing) ?? 0;
    return new CloudGrowth(points, seed, spacing, limits, { noise, radius: smoothing, gap, tilt });
  }
  const { radius, step, tilt } = grainAt({ positions, place, within }, least, spacing, limits);
  const size = Math.max(cellShare * radius, stepsCrossed * step);
  const gap = maxGap ?? Math.max(2 * apart, stepsCrossed * step);
  if (size < 2 * apart || radius === least)
    return new CloudGrowth(points, seed, spacing, limits, { noise, radius, gap, tilt });
  return new CellGrowth(points, place, spacing, limits, {
    noise,
    tilt,
    radius: Math.max(radius, 3 * size),
    gap: Math.max(2 * size, gap),
    size,
  });
}
