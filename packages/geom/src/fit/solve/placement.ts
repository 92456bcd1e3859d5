import { addScaled, cross, dot, length, normalize, perpendiculars, type Vec3 } from '../../math/vec3.js';

/** Small moves of a feature in its own axes, by name: the columns of the table of {@link Uncertainty}. */
export type Parameter = 'shift-u' | 'shift-v' | 'shift-w' | 'tilt-u' | 'tilt-v' | 'radius' | 'half-angle';

/** Where a feature stands while it is fitted. Shapes use what they need of it. */
export interface Placement {
  /** From the origin of the points (their centroid), mm. */
  readonly at: Vec3;
  readonly u: Vec3;
  readonly v: Vec3;
  /** Normal or axis. */
  readonly w: Vec3;
  /** At `at`, mm. */
  readonly radius: number;
  /** Radians. */
  readonly halfAngle: number;
}

/** A placement at `at` with the axis or normal `w`, unit length. */
export function place(at: Vec3, w: Vec3, radius = 0, halfAngle = 0): Placement {
  const [u, v] = perpendiculars(w);
  return { at, u, v, w, radius, halfAngle };
}

/** The last digit of the largest numbers a distance is the difference of, mm. `size`: extent of the points. */
export const roundingAt = ({ at, radius }: Placement, size: number): number =>
  Number.EPSILON * (size + Math.abs(radius) + length(at));

/** The placement moved by `step[i]` in each `parameters[i]`. */
export function move(from: Placement, parameters: readonly Parameter[], step: ArrayLike<number>): Placement {
  let { at, w, radius, halfAngle } = from;
  let isTilted = false;
  for (let i = 0; i < parameters.length; i++) {
    const s = step[i];
    if (s === 0) continue;
    switch (parameters[i]) {
      case 'shift-u':
        at = addScaled(at, from.u, s);
        break;
      case 'shift-v':
        at = addScaled(at, from.v, s);
        break;
      case 'shift-w':
        at = addScaled(at, from.w, s);
        break;
      case 'tilt-u':
        w = addScaled(w, from.u, s);
        isTilted = true;
        break;
      case 'tilt-v':
        w = addScaled(w, from.v, s);
        isTilted = true;
        break;
      case 'radius':
        radius += s;
        break;
      case 'half-angle':
        halfAngle += s;
        break;
    }
  }
  if (!isTilted) return { ...from, at, radius, halfAngle };
  // The axes go along with the tilt and do not turn about w, so that parameters keep their meaning from step to step.
  w = normalize(w);
  const u = normalize(addScaled(from.u, w, -dot(from.u, w)));
  return { at, u, v: cross(w, u), w, radius, halfAngle };
}
