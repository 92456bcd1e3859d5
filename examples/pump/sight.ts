import type { SignedDistance } from './surface-nets.js';

/** Whether a scanner led around the pump sees the surface at a point with the given outward unit normal. */
export type Sight = (x: number, y: number, z: number, nx: number, ny: number, nz: number) => boolean;

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Cosine of the flattest angle at which light still comes back: 75° off the normal. */
const flattest = Math.cos(radians(75));

/** Light travels freely from this far off the metal, mm. */
const free = 60;

/**
 * The scanner has two eyes, 20° apart: a point is seen if some stand shows it to both. Stands are on the left, the front,
 * the right and above, none behind: the pump is against a wall. Light is traced through the distance function in steps as
 * long as the distance to the nearest metal.
 */
export function sightOf(distance: SignedDistance): Sight {
  const directions: (readonly [number, number, number])[] = [];
  const stands: (readonly [number, number])[] = [];
  for (const elevation of [40, 70, 15]) {
    const first = directions.length;
    const apart = 20 / Math.cos(radians(elevation));
    for (let azimuth = 160; azimuth <= 380; azimuth += apart) {
      if (directions.length > first) stands.push([directions.length - 1, directions.length]);
      directions.push([
        Math.cos(radians(elevation)) * Math.cos(radians(azimuth)),
        Math.cos(radians(elevation)) * Math.sin(radians(azimuth)),
        Math.sin(radians(elevation)),
      ]);
    }
  }

  const reaches = (x: number, y: number, z: number, [dx, dy, dz]: readonly [number, number, number]): boolean => {
    let d = 0;
    for (let t = 0.3; d < free; t += Math.max(0.8 * d, 0.2)) {
      d = distance(x + t * dx, y + t * dy, z + t * dz);
      if (d < 0.02) return false;
    }
    return true;
  };

  const lit = new Int8Array(directions.length);
  return (x, y, z, nx, ny, nz) => {
    lit.fill(0);
    for (let stand = 0; stand < stands.length; stand++) {
      let eyes = 0;
      for (const eye of stands[stand]!) {
        if (lit[eye] === 0) {
          const direction = directions[eye]!;
          const facing = nx * direction[0] + ny * direction[1] + nz * direction[2] > flattest;
          lit[eye] = facing && reaches(x + 0.3 * nx, y + 0.3 * ny, z + 0.3 * nz, direction) ? 1 : -1;
        }
        if (lit[eye] < 0) break;
        eyes++;
      }
      if (eyes === 2) return true;
    }
    return false;
  };
}
