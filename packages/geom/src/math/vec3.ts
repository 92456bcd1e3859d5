/** A point or a direction in space, mm or unit length. */
export type Vec3 = readonly [x: number, y: number, z: number];

export const add = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const subtract = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const scale = (a: Vec3, s: number): Vec3 => [a[0] * s, a[1] * s, a[2] * s];
export const negate = (a: Vec3): Vec3 => [-a[0], -a[1], -a[2]];
export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const length = (a: Vec3): number => Math.hypot(a[0], a[1], a[2]);
export const distance = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** a + s·b */
export const addScaled = (a: Vec3, b: Vec3, s: number): Vec3 => [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];

/** Unit vector along `a`; [NaN, NaN, NaN] for the zero vector: callers check lengths before they ask. */
export const normalize = (a: Vec3): Vec3 => {
  const l = length(a);
  return [a[0] / l, a[1] / l, a[2] / l];
};

/** Angle between two vectors of any length, radians in [0, π]; accurate near 0 and π (Kahan's atan2 form). */
export const angleBetween = (a: Vec3, b: Vec3): number => Math.atan2(length(cross(a, b)), dot(a, b));

/** Two unit vectors u, v with u × v = w, for a unit vector w (Duff et al., JCGT 6 (2017): no branch, no singularity). */
export const perpendiculars = (w: Vec3): readonly [u: Vec3, v: Vec3] => {
  const sign = w[2] >= 0 ? 1 : -1;
  const a = -1 / (sign + w[2]);
  const b = w[0] * w[1] * a;
  return [
    [1 + sign * w[0] * w[0] * a, sign * b, -sign * w[0]],
    [b, sign + w[1] * w[1] * a, -w[1]],
  ];
};

/** Three finite numbers. */
export const isFiniteVec3 = (value: unknown): value is Vec3 =>
  Array.isArray(value) && value.length === 3 && value.every(Number.isFinite);
