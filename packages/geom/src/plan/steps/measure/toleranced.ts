import { FettleError } from '../../../error.js';
import type { Feature, Plane } from '../../../feature/feature.js';
import { axisOf, planeOf } from '../../../feature/roles.js';
import { addScaled, dot, normalize, subtract, type Vec3 } from '../../../math/vec3.js';
import { type Toleranced, tolerancedOf } from '../../../relate/toleranced.js';
import type { Zone } from '../../../relate/zone.js';
import type { Context } from '../../step/context.js';

/** What a tolerance holds of a feature of the plan. @throws FettleError `no-extent` for faces and axes that were constructed */
export function tolerancedFrom(id: string, context: Context): Toleranced {
  const feature = context.feature(id).value;
  const points = context.points(id);
  const extended =
    feature.kind === 'plane' || feature.kind === 'line' || feature.kind === 'cylinder' || feature.kind === 'cone';
  if (points === undefined && extended)
    throw new FettleError(
      'no-extent',
      `"${id}" was constructed and has no extent: a zone holds a ${feature.kind} where it was seen. Name the fit it comes from.`,
    );
  return tolerancedOf(feature, points ?? { positions: new Float64Array(0) });
}

/** A place as part of a feature: where it is when the feature has moved, as a rigid body. */
export function partOf(feature: Feature, place: Vec3): (moved: Feature) => Vec3 {
  if (feature.kind === 'plane') {
    const { point, normal } = planeOf(feature);
    const away = subtract(place, point);
    const height = dot(away, normal);
    const flat = addScaled(away, normal, -height);
    const reach = Math.hypot(...flat);
    const toward: Vec3 = reach > 0 ? normalize(flat) : [0, 0, 0];
    return (moved) => {
      const { point: p, normal: n } = planeOf(moved);
      const along = addScaled(toward, n, -dot(toward, n));
      const size = Math.hypot(...along);
      return addScaled(size > 0 ? addScaled(p, along, reach / size) : p, n, height);
    };
  }
  const { point, direction } = axisOf(feature);
  const t = dot(subtract(place, point), direction);
  return (moved) => {
    const axis = axisOf(moved);
    return addScaled(axis.point, axis.direction, t);
  };
}

/**
 * How much of a zone the heights of its deciding places over their own faces make up, mm. That is form and noise, and one scan cannot
 * tell them apart.
 *
 * @param faces the least-squares faces, by the number each place has (0 without one)
 */
export function heightsIn({ deciding, along }: Pick<Zone, 'deciding' | 'along'>, faces: readonly Plane[]): number {
  const sum = deciding.reduce((total, { place, weight, face = 0 }) => {
    const { point, normal } = faces[face]!;
    return total + weight * dot(subtract(place, point), normal) * dot(normal, along);
  }, 0);
  return Math.max(0, sum);
}

/** A direction that keeps to a fixed one but stays square to another. */
export const keptSquare = (fixed: Vec3, to: Vec3): Vec3 => normalize(addScaled(fixed, to, -dot(fixed, to)));
