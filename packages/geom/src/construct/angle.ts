import type { Feature } from '../feature/feature.js';
import { directionOf } from '../feature/roles.js';
import { acuteAngle } from './alignment.js';
import { demandFinite } from './finite.js';

/**
 * The angle between two features, radians in [0, π/2]: between lines or axes, between planes (0 when parallel), between
 * a line or axis and a plane (0 when the line lies in the plane). A circle enters by its axis. Which way normals and
 * directions point does not matter.
 *
 * @throws FettleError `wrong-kind` for a point or a sphere
 */
export function angleOf(first: Feature, second: Feature): number {
  const between = acuteAngle(directionOf(first), directionOf(second));
  demandFinite('The angle', [between]);
  return (first.kind === 'plane') === (second.kind === 'plane') ? between : Math.PI / 2 - between;
}
