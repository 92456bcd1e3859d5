import { add, addScaled, cross, dot, normalize, perpendiculars, scale, type Vec3 } from '../../math/vec3.js';

/**
 * Where a round shape is: its center or a point of its axis, and right-handed unit axes, `w` along the shape's axis.
 */
export interface Pose {
  readonly origin: Vec3;
  readonly u: Vec3;
  readonly v: Vec3;
  readonly w: Vec3;
}

/**
 * The distance of a point from the center or axis, and its first and second derivatives by the shape's small moves, all
 * in mm.
 */
export interface DistanceJet {
  readonly distance: number;
  readonly gradient: readonly number[];
  /** size × size, row-major, 1/mm. */
  readonly curvature: readonly number[];
}

/** A shape whose points lie at one distance from a center or an axis. */
export interface RoundShape {
  /** Number of moves that place it. */
  readonly moves: number;
  /** 1 when the distance counts along w too (from a point), 0 when it does not (from an axis). */
  readonly along: 0 | 1;
  /** Of a point at (x, y, z) in the shape's own pose. */
  jet(x: number, y: number, z: number): DistanceJet;
  /** The pose after the moves `by`, mm. */
  moved(pose: Pose, by: readonly number[]): Pose;
}

/** A center: three shifts. */
export const aboutCenter: RoundShape = {
  moves: 3,
  along: 1,
  jet(x, y, z) {
    const d = Math.hypot(x, y, z);
    const s = d > 0 ? 1 / d : 0;
    const [a, b, c] = [x * s, y * s, z * s];
    return {
      distance: d,
      gradient: [-a, -b, -c],
      curvature: [1 - a * a, -a * b, -a * c, -a * b, 1 - b * b, -b * c, -a * c, -b * c, 1 - c * c].map((k) => k * s),
    };
  },
  moved: (pose, by) => ({
    ...pose,
    origin: add(pose.origin, add(scale(pose.u, by[0]), addScaled(scale(pose.v, by[1]), pose.w, by[2]))),
  }),
};

/**
 * An axis: two shifts, and two tilts counted in mm at `reach` from the origin. The moved axis passes through (a, b, 0)
 * along (p, q, 1) with p, q the tilts over the reach; derivatives of the orthogonal distance are taken of its square.
 */
export const aboutAxis = (reach: number): RoundShape => ({
  moves: 4,
  along: 0,
  jet(x, y, z) {
    const d = Math.hypot(x, y);
    const t = 1 / reach;
    // Halves of the first and second derivatives of d² by a, b, p, q at zero.
    const first = [-x, -y, -z * x * t, -z * y * t];
    const pp = (z * z - x * x) * t * t;
    const qq = (z * z - y * y) * t * t;
    const pq = -x * y * t * t;
    const zt = z * t;
    const second = [1, 0, zt, 0, 0, 1, 0, zt, zt, 0, pp, pq, 0, zt, pq, qq];
    const s = d > 0 ? 1 / d : 0;
    const gradient = first.map((f) => f * s);
    return {
      distance: d,
      gradient,
      curvature: second.map((h, k) => (h - gradient[k >> 2] * gradient[k & 3]) * s),
    };
  },
  moved(pose, [a, b, p, q]) {
    const w = normalize(add(pose.w, addScaled(scale(pose.u, p / reach), pose.v, q / reach)));
    const u = normalize(addScaled(pose.u, w, -dot(pose.u, w)));
    return { origin: add(pose.origin, addScaled(scale(pose.u, a), pose.v, b)), u, v: cross(w, u), w };
  },
});

export const poseAt = (origin: Vec3, w: Vec3): Pose => {
  const [u, v] = perpendiculars(w);
  return { origin, u, v, w };
};
