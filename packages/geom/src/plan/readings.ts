import { acuteAngle } from '../construct/alignment.js';
import { directionOf } from '../construct/roles.js';
import type { Feature } from '../feature/feature.js';
import type { Frame } from '../frame/frame.js';
import type { Vec3 } from '../math/vec3.js';

/** One number read off a feature. Lengths in mm, angles in degrees. */
export interface Reading {
  readonly name: string;
  readonly value: number;
  readonly unit: 'mm' | '°';
}

const mm = (name: string, value: number): Reading => ({ name, value, unit: 'mm' });
export const degrees = (name: string, radians: number): Reading => ({
  name,
  value: (radians * 180) / Math.PI,
  unit: '°',
});

/** The place a feature is quoted at: its center or apex, else its own point. */
export function placeOf(feature: Feature): Vec3 {
  switch (feature.kind) {
    case 'point':
      return feature.position;
    case 'plane':
    case 'line':
    case 'cylinder':
      return feature.point;
    case 'cone':
      return feature.apex;
    default:
      return feature.center;
  }
}

/** What is read off a feature beside where it is: diameters, as the trade reads them, not radii. */
function sizes(feature: Feature): Reading[] {
  switch (feature.kind) {
    case 'circle':
    case 'sphere':
    case 'cylinder':
      return [mm('diameter', 2 * feature.radius)];
    case 'cone':
      // ISO 3040: the cone angle is the angle between opposite generators.
      return [degrees('cone-angle', 2 * feature.halfAngle)];
    case 'slot':
      return [mm('length', feature.length), mm('width', feature.width)];
    case 'ellipse':
      // A round hole cut at a slant by θ shows an ellipse with cos θ between its diameters.
      return [
        mm('major-diameter', 2 * feature.major),
        mm('minor-diameter', 2 * feature.minor),
        degrees('tilt', Math.acos(Math.min(1, feature.minor / feature.major))),
      ];
    default:
      return [];
  }
}

/**
 * The numbers a feature has on the job sheet, in a frame: the coordinates of its place, its sizes, and the angles its
 * normal or axis makes with the frame's axes, in [0°, 90°], whichever way it points.
 */
export function readings(feature: Feature, frame: Frame): Reading[] {
  const [x, y, z] = frame.toFrame(placeOf(feature));
  const found = [mm('x', x), mm('y', y), mm('z', z), ...sizes(feature)];
  if (feature.kind === 'point' || feature.kind === 'sphere') return found;
  const direction = directionOf(feature);
  for (const axis of ['x', 'y', 'z'] as const) found.push(degrees(`angle-${axis}`, acuteAngle(direction, frame[axis])));
  return found;
}
