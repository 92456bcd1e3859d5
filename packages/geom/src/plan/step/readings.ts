import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Ellipse, Feature, Slot } from '../../feature/feature.js';
import { directionOf } from '../../feature/roles.js';
import type { Frame } from '../../math/frame.js';
import type { Limits } from './outcome.js';
import { placeReadings, type Told } from './place-readings.js';
import { type Asked, acute, fromZero, reading, tellingAngle } from './reading.js';

/** What is read off a feature beside where it is: diameters, as the trade reads them, not radii. */
const sizes: { readonly [K in Feature['kind']]?: readonly Size<Extract<Feature, { kind: K }>>[] } = {
  circle: [['diameter', (f) => 2 * f.radius, 'mm']],
  sphere: [['diameter', (f) => 2 * f.radius, 'mm']],
  cylinder: [['diameter', (f) => 2 * f.radius, 'mm']],
  // ISO 3040: the cone angle is the angle between opposite generators. Its diameter is told where its place is.
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
const endsOfAngle: Readonly<Record<string, Limits>> = { 'cone-angle': { min: 0, max: 180 }, tilt: acute };
type Size<F> = readonly [name: string, of: (feature: F) => number, unit: 'mm' | '°'];

/**
 * The numbers a feature has on the job sheet, in a frame: where it is, its sizes, and the angles its normal or axis makes with
 * the frame's axes, in [0°, 90°], whichever way it points. What is so by definition, as a coordinate on its own datum, is left
 * out unless `asked` for by name; so are coordinates that depend on where the points happened to lie, and the normal of what was
 * fitted in an earlier plane, which has a row of its own. Of a slot or an ellipse the angles are those of its longer way. Without a
 * frame only its sizes.
 */
export function readings(
  feature: Uncertain<Feature>,
  frame: Uncertain<Frame> | undefined,
  asked: Asked = {},
  isInPlane = false,
): Told {
  const told = frame ? placeReadings(feature, frame, asked) : { readings: [] };
  const { kind } = feature.value;
  const found = [...told.readings];
  for (const [name, of, unit] of (sizes[kind] ?? []) as readonly Size<Feature>[])
    found.push(reading(name, derive([feature], of), unit, unit === 'mm' ? fromZero : endsOfAngle[name]));
  if (frame === undefined || kind === 'point' || kind === 'sphere') return { ...told, readings: found };
  const direction = derive([feature], (f) => (isLong(f) ? f.direction : directionOf(f)));
  const axisOfFrame = (axis: 'x' | 'y' | 'z') => derive([frame], (axes) => axes[axis]);
  for (const axis of ['x', 'y', 'z'] as const) {
    const name = `angle-${axis}`;
    const isTold = !isInPlane || isLong(feature.value) || asked[name] !== undefined;
    if (isTold) found.push(...tellingAngle(name, direction, axisOfFrame(axis), asked));
  }
  return { ...told, readings: found };
}

const isLong = (feature: Feature): feature is Slot | Ellipse => feature.kind === 'slot' || feature.kind === 'ellipse';
