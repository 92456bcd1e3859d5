import type { Circle, Cylinder, Plane } from '../../../feature/feature.js';
import { addScaled, cross, dot, length, subtract, type Vec3 } from '../../../math/vec3.js';
import type { Points } from '../../../scan/scan.js';

/** Points of a section in the order of its outline, with the plane they lie in. */
interface OnOutline {
  readonly positions: Float64Array;
  readonly used: Uint32Array;
  readonly plane: Plane;
}

/** Points of a scan with normals. */
type OnSurface = Points & { readonly normals: Float32Array };

/** Under this share of what it could be the sum of the sides says nothing: a flange's face about a hole, an outline that turns back. */
const LEAST = 0.2;

/**
 * Whether the normals of points face the axis, as those of a hole do, or away from it, as those of a shaft; undefined where they do
 * neither.
 */
export function isHoleByNormals(
  feature: Circle | Cylinder,
  { positions, normals, select }: OnSurface,
): boolean | undefined {
  const [center, axis] =
    feature.kind === 'circle' ? [feature.center, feature.normal] : [feature.point, feature.direction];
  const count = select?.length ?? positions.length / 3;
  let away = 0;
  let most = 0;
  for (let i = 0; i < count; i++) {
    const p = 3 * (select ? select[i]! : i);
    const radial = squareTo(axis, subtract(placeAt(positions, p), center));
    const size = length(radial);
    const normal = placeAt(normals, p);
    const cosine = size > 0 ? dot(normal, radial) / size : 0;
    away += cosine;
    most += length(squareTo(axis, normal));
  }
  return decided(-away, most);
}

/**
 * Whether an outline runs clockwise round its center, as those of holes in a cut solid do, seen against the section's normal; undefined
 * where it does neither.
 */
export function isHoleByOutline({ center }: Circle, { positions, used, plane }: OnOutline): boolean | undefined {
  let turned = 0;
  let most = 0;
  for (let i = 1; i < used.length; i++) {
    const from = subtract(placeAt(positions, 3 * used[i - 1]!), center);
    const to = subtract(placeAt(positions, 3 * used[i]!), center);
    // A jump to another part of the outline is no turn.
    if (dot(from, to) <= 0.5 * length(from) * length(to)) continue;
    const area = dot(cross(from, to), plane.normal);
    turned += area;
    most += Math.abs(area);
  }
  return decided(-turned, most);
}

const decided = (forHole: number, most: number): boolean | undefined =>
  most > 0 && Math.abs(forHole) > LEAST * most ? forHole > 0 : undefined;

const placeAt = (flat: ArrayLike<number>, at: number): Vec3 => [flat[at]!, flat[at + 1]!, flat[at + 2]!];
const squareTo = (axis: Vec3, v: Vec3): Vec3 => addScaled(v, axis, -dot(axis, v));
