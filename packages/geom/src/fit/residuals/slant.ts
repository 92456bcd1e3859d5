/** A cone seen from its side: how its distance from the axis and its place along it change along the surface. */
export interface Slant {
  /** Of the half-angle; sine less than 0: narrower along w. */
  readonly sin: number;
  readonly cos: number;
  /** Of the middle of the points, mm. */
  readonly radius: number;
  readonly level: number;
}

/** The direction in which distances from the axis and places along it vary most, by their second moments. */
export function slantOf(local: Float64Array): Slant {
  const n = local.length / 3;
  let [radius, level] = [0, 0];
  for (let p = 0; p < local.length; p += 3) {
    radius += Math.hypot(local[p], local[p + 1]) / n;
    level += local[p + 2] / n;
  }
  let [aa, ab, bb] = [0, 0, 0];
  for (let p = 0; p < local.length; p += 3) {
    const a = Math.hypot(local[p], local[p + 1]) - radius;
    const b = local[p + 2] - level;
    aa += a * a;
    ab += a * b;
    bb += b * b;
  }
  // From the axis' direction, −90° to 90°.
  const turn = Math.atan2(2 * ab, bb - aa) / 2;
  return { sin: Math.sin(turn), cos: Math.cos(turn), radius, level };
}

/** Moves points of a cone to their feet on it, by their distances from it: noise would sort them along it otherwise. */
export function layOnCone(local: Float64Array, residual: Float64Array): void {
  const { sin, cos } = slantOf(local);
  for (let i = 0; i < residual.length; i++) {
    const p = 3 * i;
    const far = Math.hypot(local[p], local[p + 1]);
    const stretch = far > 0 ? Math.max(0, far - cos * residual[i]) / far : 1;
    local[p] *= stretch;
    local[p + 1] *= stretch;
    local[p + 2] += sin * residual[i];
  }
}

/** Places of a cone's points along its surface, from the middle, mm. */
export function alongSlant(local: Float64Array): Float64Array {
  const { sin, cos, radius, level } = slantOf(local);
  return Float64Array.from({ length: local.length / 3 }, (_, i) => {
    const p = 3 * i;
    return sin * (Math.hypot(local[p], local[p + 1]) - radius) + cos * (local[p + 2] - level);
  });
}
