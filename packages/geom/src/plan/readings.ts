import { acuteAngle } from '../construct/alignment.js';
import { derive, type Uncertain } from '../construct/propagate.js';
import { directionOf } from '../construct/roles.js';
import type { Feature } from '../feature/feature.js';
import type { Frame } from '../frame/frame.js';
import type { Vec3 } from '../math/vec3.js';
import { plusMinus, plusMinusOfAngle, times } from './doubt.js';

/** One number read off a feature, with ± 95 % in its own unit where that can be told. Lengths in mm, angles in degrees. */
export interface Reading {
  readonly name: string;
  readonly value: number;
  readonly unit: 'mm' | '°';
  readonly uncertainty?: number;
}

export const inDegrees = 180 / Math.PI;

/** A reading of a number that does not bend where it is. */
export const reading = (name: string, of: Uncertain<number>, unit: 'mm' | '°' = 'mm'): Reading => {
  const factor = unit === '°' ? inDegrees : 1;
  return { name, value: of.value * factor, unit, ...times(plusMinus(of), factor) };
};

/** A reading of the angle between two directions, in [0°, 90°], whichever way they point. */
export const angleReading = (name: string, first: Uncertain<Vec3>, second: Uncertain<Vec3>): Reading => ({
  name,
  value: acuteAngle(first.value, second.value) * inDegrees,
  unit: '°',
  ...times(plusMinusOfAngle(first, second), inDegrees),
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
const sizes: { readonly [K in Feature['kind']]?: readonly Size<Extract<Feature, { kind: K }>>[] } = {
  circle: [['diameter', (f) => 2 * f.radius, 'mm']],
  sphere: [['diameter', (f) => 2 * f.radius, 'mm']],
  cylinder: [['diameter', (f) => 2 * f.radius, 'mm']],
  // ISO 3040: the cone angle is the angle between opposite generators.
  cone: [['cone-angle', (f) => 2 * f.halfAngle, '°']],
  slot: [
    ['length', (f) => f.length, 'mm'],
    ['width', (f) => f.width, 'mm'],
  ],
  ellipse: [
    ['major-diameter', (f) => 2 * f.major, 'mm'],
    ['minor-diameter', (f) => 2 * f.minor, 'mm'],
    // A round hole cut at a slant by θ shows an ellipse with cos θ between its diameters.
    ['tilt', (f) => Math.acos(Math.min(1, f.minor / f.major)), '°'],
  ],
};
type Size<F> = readonly [name: string, of: (feature: F) => number, unit: 'mm' | '°'];

/**
 * The numbers a feature has on the job sheet, in a frame: the coordinates of its place, its sizes, and the angles its
 * normal or axis makes with the frame's axes, in [0°, 90°], whichever way it points.
 */
export function readings(feature: Uncertain<Feature>, frame: Uncertain<Frame>): Reading[] {
  const { kind } = feature.value;
  const coordinate = (i: 0 | 1 | 2) => derive([feature, frame], (f, axes) => axes.toFrame(placeOf(f))[i]);
  const found = (['x', 'y', 'z'] as const).map((name, i) => reading(name, coordinate(i as 0 | 1 | 2)));
  for (const [name, of, unit] of (sizes[kind] ?? []) as readonly Size<Feature>[])
    found.push(reading(name, derive([feature], of), unit));
  if (kind === 'point' || kind === 'sphere') return found;
  const direction = derive([feature], directionOf);
  for (const axis of ['x', 'y', 'z'] as const)
    found.push(
      angleReading(
        `angle-${axis}`,
        direction,
        derive([frame], (axes) => axes[axis]),
      ),
    );
  return found;
}
