import type { Vec3 } from '../math/vec3.js';
import { PIECE_AREA } from './kernels.js';
import { together } from './measure-scan.js';
import type { NoiseModel, ScanNoise, SurfaceNoise } from './scan-noise.js';

/** The noise at one place of a scan, and how well it is known. */
export interface NoiseNear extends NoiseModel {
  /** Of the variance it gives a feature of the size asked for; Infinity of stated noise. */
  readonly degreesOfFreedom: number;
}

/** Surfaces nearer than this are as good as at the place, mm. */
const NEAR = 10;

/**
 * The noise where a feature is: of the surfaces next to it, or of those farther off where none is near.
 *
 * @param reach half the feature's extent, mm
 * @returns undefined where nothing is known
 */
export function noiseNear({ model, surfaces }: ScanNoise, place: Vec3, reach: number): NoiseNear | undefined {
  if (!model) return undefined;
  if (surfaces.length === 0) return { ...model, degreesOfFreedom: Infinity };
  const weights = surfaces.map((surface) => {
    const d = Math.max(0, distanceTo(surface, place) - reach) / NEAR;
    return surface.area / (1 + d * d * d * d);
  });
  const total = weights.reduce((a, b) => a + b, 0);
  let whole = 0;
  let lost = 0;
  surfaces.forEach(({ terms, white, area }, k) => {
    const share = weights[k] / total;
    const add = (variance: number, pieces: number): void => {
      whole += share * variance;
      lost += (share * variance * (share * variance)) / Math.max(1, pieces);
    };
    add(white * WHITE, 1000);
    for (const { kernel, length, variance } of terms) {
      const shared = Math.min(1, (length / Math.max(reach, 1e-9)) * (length / Math.max(reach, 1e-9)));
      add(variance * shared, area / (PIECE_AREA[kernel] * length * length) - 3);
    }
  });
  return { ...together(surfaces, weights), degreesOfFreedom: lost > 0 ? (whole * whole) / lost : 1000 };
}
/** What white noise comes to in a feature beside noise alike all over it. */
const WHITE = 0.02;

function distanceTo({ places }: SurfaceNoise, [x, y, z]: Vec3): number {
  let least = Infinity;
  for (let i = 0; i < places.length; i += 3) {
    const [dx, dy, dz] = [places[i] - x, places[i + 1] - y, places[i + 2] - z];
    least = Math.min(least, dx * dx + dy * dy + dz * dz);
  }
  return Math.sqrt(least);
}
