import type { Feature, Plane } from '../feature/feature.js';
import { axisOf, centerOf } from '../feature/roles.js';
import { addScaled, dot, type Vec3 } from '../math/vec3.js';
import type { Points } from '../scan/scan.js';

/**
 * What a geometrical tolerance (ISO 1101) holds within its zone: the points of a surface, an axis over the length it was seen,
 * or a center.
 */
export type Toleranced =
  | { readonly kind: 'surface'; readonly plane: Plane; readonly points: Points }
  | { readonly kind: 'axis'; readonly from: Vec3; readonly to: Vec3 }
  | { readonly kind: 'center'; readonly position: Vec3 };

/**
 * The toleranced part of a fitted feature: of a plane its points; of a line, a cylinder or a cone its axis from the first to the
 * last of its points; of anything else its center.
 *
 * @param points those the feature was fitted to
 */
export function tolerancedOf(feature: Feature, points: Points): Toleranced {
  switch (feature.kind) {
    case 'plane':
      return { kind: 'surface', plane: feature, points };
    case 'line':
    case 'cylinder':
    case 'cone': {
      const { point, direction } = axisOf(feature);
      let first = Number.POSITIVE_INFINITY;
      let last = Number.NEGATIVE_INFINITY;
      eachAlong(points, point, direction, (t) => {
        if (t < first) first = t;
        if (t > last) last = t;
      });
      return { kind: 'axis', from: addScaled(point, direction, first), to: addScaled(point, direction, last) };
    }
    default:
      return { kind: 'center', position: centerOf(feature).position };
  }
}

/** Distance along a direction from a point, mm, of every (selected) point. */
function eachAlong({ positions, select }: Points, point: Vec3, direction: Vec3, visit: (t: number) => void): void {
  const [dx, dy, dz] = direction;
  const start = dot(direction, point);
  const count = select ? select.length : positions.length / 3;
  for (let i = 0; i < count; i++) {
    const p = 3 * (select ? select[i] : i);
    visit(positions[p] * dx + positions[p + 1] * dy + positions[p + 2] * dz - start);
  }
}

/** Heights of a surface's points above a plane, mm. */
export function heightsAbove(points: Points, point: Vec3, normal: Vec3): Float64Array {
  const { positions, select } = points;
  const heights = new Float64Array(select ? select.length : positions.length / 3);
  let n = 0;
  eachAlong(points, point, normal, (t) => {
    heights[n++] = t;
  });
  return heights;
}
