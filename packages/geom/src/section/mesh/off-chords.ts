import type { Circle } from '../../feature/feature.js';
import { addScaled, dot, length, subtract, type Vec3 } from '../../math/vec3.js';

/** Points of a section carried from the chords they lie on out to a circle's arc. */
export interface OffChords {
  /** xyz xyz …, as many as were given. */
  readonly points: Float64Array;
  /** How far they were carried outward, mean over all, mm. */
  readonly mean: number;
  /** Middle length of the edges, mm. */
  readonly side: number;
}

/**
 * An edge of a mesh is a chord of the round wall both its ends lie on, and where a plane crosses it at share t it is nearer to the axis: by
 * the power of a point the squares of the radius and of its distance differ by t(1 − t) times the square of the chord, for a hole as for
 * a shaft. The chord counts as it runs around the axis, 2ab(1 − cos θ) for ends at distances a and b: a wall that leans adds nothing, nor
 * does the noise of its ends. Exact where the ends lie on a cylinder or cone about the circle's axis; where they lie inside it
 * themselves, as where a mesh was made of means, the circle stays too small by that.
 *
 * @param edges the two points of the mesh of each point's edge; undefined for points that stay where they are
 */
export function offChords(
  points: Float64Array,
  edges: readonly (readonly [number, number] | undefined)[],
  positions: Float64Array,
  { center, normal }: Pick<Circle, 'center' | 'normal'>,
): OffChords {
  const moved = points.slice();
  const aside = (at: Float64Array, i: number): Vec3 => {
    const p = subtract([at[3 * i], at[3 * i + 1], at[3 * i + 2]], center);
    return addScaled(p, normal, -dot(p, normal));
  };
  const sides: number[] = [];
  let sum = 0;
  edges.forEach((edge, i) => {
    if (!edge) return;
    const [a, b, c] = [aside(positions, edge[0]), aside(positions, edge[1]), aside(points, i)];
    const [p, q] = edge.map((e) => [positions[3 * e], positions[3 * e + 1], positions[3 * e + 2]] as Vec3);
    const here: Vec3 = [points[3 * i], points[3 * i + 1], points[3 * i + 2]];
    const long = length(subtract(q, p));
    const share = length(subtract(here, p)) / long;
    const chord = 2 * Math.max(0, length(a) * length(b) - dot(a, b));
    sides.push(long);
    const far = length(c);
    if (!(far > 0)) return;
    const out = Math.sqrt(far * far + share * (1 - share) * chord) - far;
    sum += out;
    for (let k = 0; k < 3; k++) moved[3 * i + k] += (out * c[k]) / far;
  });
  sides.sort((a, b) => a - b);
  return { points: moved, mean: edges.length > 0 ? sum / edges.length : 0, side: sides[sides.length >> 1] ?? 0 };
}
