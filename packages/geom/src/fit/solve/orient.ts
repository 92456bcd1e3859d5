import type { Feature } from '../../feature/feature.js';
import { dot, negate, type Vec3 } from '../../math/vec3.js';
import { type Placement, place } from './placement.js';
import type { PointSet } from './point-set.js';
import type { Shape } from './shape.js';

/**
 * Choose the sign of a normal or a direction: on the side of `facing` where that is given, else, for planes and circles, of the
 * points' own normals, else the one whose largest component is positive.
 */
export function orient<F extends Feature>(
  shape: Shape<F>,
  placement: Placement,
  set: PointSet,
  facing: Vec3 | undefined,
): Placement {
  if (shape.kind === 'sphere' || shape.kind === 'cone') return placement;
  const { at, w, radius } = placement;
  const isFlat = shape.kind === 'plane' || shape.kind === 'circle';
  const side = (facing && dot(facing, w)) || (isFlat && sideOfNormals(set, w)) || largestComponent(w);
  return side < 0 ? place(at, negate(w), radius) : placement;
}

/** Sum of the cosines between w and the points' normals; 0 where they have none. */
function sideOfNormals({ normals, index, count }: PointSet, w: Vec3): number {
  if (!normals) return 0;
  let sum = 0;
  for (let i = 0; i < count; i++) {
    const p = 3 * (index ? index[i] : i);
    sum += normals[p] * w[0] + normals[p + 1] * w[1] + normals[p + 2] * w[2];
  }
  return sum;
}

/** With its sign; of equals the first. Rounding does not choose between components that are equal but for it. */
function largestComponent(w: Vec3): number {
  let largest = w[0];
  for (const component of w) if (Math.abs(component) > Math.abs(largest) * (1 + 1e-9)) largest = component;
  return largest;
}
