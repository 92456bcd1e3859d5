import type { Vec3 } from '../math/vec3.js';

/** A rigid motion p ↦ R·p + t. */
export interface Rigid {
  /** R, row-major 3×3. */
  readonly r: Float64Array;
  /** t, mm. */
  readonly t: Float64Array;
}

export const atRest: Rigid = { r: Float64Array.of(1, 0, 0, 0, 1, 0, 0, 0, 1), t: new Float64Array(3) };

export function turned({ r }: Rigid, [x, y, z]: Vec3): Vec3 {
  return [r[0] * x + r[1] * y + r[2] * z, r[3] * x + r[4] * y + r[5] * z, r[6] * x + r[7] * y + r[8] * z];
}

export function carried(motion: Rigid, p: Vec3): Vec3 {
  const [x, y, z] = turned(motion, p);
  return [x + motion.t[0], y + motion.t[1], z + motion.t[2]];
}

/** First `b`, then `a`. */
export function composed(a: Rigid, b: Rigid): Rigid {
  const r = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      r[3 * i + j] = a.r[3 * i] * b.r[j] + a.r[3 * i + 1] * b.r[3 + j] + a.r[3 * i + 2] * b.r[6 + j];
  return { r, t: Float64Array.from(carried(a, [b.t[0], b.t[1], b.t[2]])) };
}

export function inverse({ r, t }: Rigid): Rigid {
  const back = Float64Array.of(r[0], r[3], r[6], r[1], r[4], r[7], r[2], r[5], r[8]);
  const [x, y, z] = turned({ r: back, t }, [t[0], t[1], t[2]]);
  return { r: back, t: Float64Array.of(-x, -y, -z) };
}

/** The rotation about an axis through the origin by the length of `turn`, radians (Rodrigues), row-major 3×3. */
export function rotationBy([x, y, z]: Vec3): Float64Array {
  const angle = Math.hypot(x, y, z);
  // sin a / a and (1 − cos a) / a², whose limits are 1 and 1/2.
  const s = angle > 1e-8 ? Math.sin(angle) / angle : 1;
  const half = angle > 1e-8 ? Math.sin(angle / 2) / (angle / 2) : 1;
  const c = (half * half) / 2;
  return Float64Array.of(
    1 - c * (y * y + z * z),
    c * x * y - s * z,
    c * x * z + s * y,
    c * x * y + s * z,
    1 - c * (x * x + z * z),
    c * y * z - s * x,
    c * x * z - s * y,
    c * y * z + s * x,
    1 - c * (x * x + y * y),
  );
}

/** A turn about `center` and a shift after it. */
export function smallMove(shift: Vec3, turn: Vec3, center: Vec3): Rigid {
  const r = rotationBy(turn);
  const [x, y, z] = turned({ r, t: r }, center);
  return { r, t: Float64Array.of(center[0] - x + shift[0], center[1] - y + shift[1], center[2] - z + shift[2]) };
}

/** Rotation vector of R, radians; of its length in [0, π]. */
export function turnOf({ r }: Rigid): Vec3 {
  const axis: Vec3 = [(r[7] - r[5]) / 2, (r[2] - r[6]) / 2, (r[3] - r[1]) / 2];
  const sine = Math.hypot(...axis);
  const cosine = (r[0] + r[4] + r[8] - 1) / 2;
  const angle = Math.atan2(sine, cosine);
  if (sine > 1e-6) return [(axis[0] * angle) / sine, (axis[1] * angle) / sine, (axis[2] * angle) / sine];
  if (cosine > 0) return axis;
  // Half a turn: R = 2·a·aᵀ − 1.
  const k = r[0] >= r[4] && r[0] >= r[8] ? 0 : r[4] >= r[8] ? 1 : 2;
  const column: Vec3 = [r[k] + (k === 0 ? 1 : 0), r[3 + k] + (k === 1 ? 1 : 0), r[6 + k] + (k === 2 ? 1 : 0)];
  const long = Math.hypot(...column);
  return [(column[0] * angle) / long, (column[1] * angle) / long, (column[2] * angle) / long];
}

/**
 * The steady motion whose end is `motion`: shift and turn about `center`, so that moving along a share of both moves along the screw
 * (the logarithm of the motion).
 */
export function screwOf(motion: Rigid, center: Vec3): { readonly shift: Vec3; readonly turn: Vec3 } {
  const turn = turnOf(motion);
  const end = carried(motion, center);
  const d: Vec3 = [end[0] - center[0], end[1] - center[1], end[2] - center[2]];
  const angle = Math.hypot(...turn);
  if (angle < 1e-9) return { shift: d, turn };
  // The inverse of the left Jacobian of the rotation.
  const half = angle / 2;
  const k = (1 - half / Math.tan(half)) / (angle * angle);
  const c: Vec3 = [turn[1] * d[2] - turn[2] * d[1], turn[2] * d[0] - turn[0] * d[2], turn[0] * d[1] - turn[1] * d[0]];
  const cc: Vec3 = [turn[1] * c[2] - turn[2] * c[1], turn[2] * c[0] - turn[0] * c[2], turn[0] * c[1] - turn[1] * c[0]];
  return {
    shift: [d[0] - c[0] / 2 + k * cc[0], d[1] - c[1] / 2 + k * cc[1], d[2] - c[2] / 2 + k * cc[2]],
    turn,
  };
}

/** Rounding lets R drift from a rotation over many products: the nearest one, by one step of Newton for the polar factor. */
export function straightened({ r, t }: Rigid): Rigid {
  const s = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) {
      let sum = 0;
      for (let k = 0; k < 3; k++)
        sum += r[3 * i + k] * ((k === j ? 3 : 0) - (r[k] * r[j] + r[3 + k] * r[3 + j] + r[6 + k] * r[6 + j]));
      s[3 * i + j] = sum / 2;
    }
  return { r: s, t };
}
