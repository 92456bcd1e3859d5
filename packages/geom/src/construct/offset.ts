import type { Plane } from '../feature/feature.js';
import { planeOf, type WithPlane } from '../feature/roles.js';
import { addScaled } from '../math/vec3.js';
import { type Constructed, constructed } from './constructed.js';

/** The plane parallel to another, `by` mm along its normal. */
export function offsetPlane(plane: WithPlane, by: number): Constructed<Plane> {
  const { point, normal } = planeOf(plane);
  return constructed({ kind: 'plane', point: addScaled(point, normal, by), normal });
}
