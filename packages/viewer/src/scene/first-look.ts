import { type Vec3, vec3 } from '@fettle/geom';
import type { DrawnSurface } from '../worker/protocol.js';

/** Normals looked at. */
const MOST = 6000;
/** A skin whose normals add up to less than this share of their count faces all ways. */
const CLOSED = 0.15;

/**
 * Toward the eye at first: a scan is open where the scanner could not see, so it is shown from where it was scanned
 * from, the side its normals face on the whole, a little from aside so that more than one face is seen. A closed skin,
 * or one without normals, is seen from a corner.
 */
export function firstLook({ normals }: DrawnSurface): Vec3 {
  const count = normals.length / 3;
  const step = Math.max(1, Math.floor(count / MOST));
  const sum: [number, number, number] = [0, 0, 0];
  let seen = 0;
  for (let p = 0; p < count; p += step) {
    seen++;
    for (let k = 0; k < 3; k++) sum[k]! += normals[3 * p + k]! / 127;
  }
  const length = vec3.length(sum);
  if (seen === 0 || length < CLOSED * seen) return vec3.normalize([1, -1.4, 1]);
  const facing = vec3.scale(sum, 1 / length);
  const [u, v] = vec3.perpendiculars(facing);
  return vec3.normalize(vec3.addScaled(vec3.addScaled(facing, u, 0.25), v, 0.2));
}
