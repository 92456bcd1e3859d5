import type { SheetRow, SheetValue, Vec3 } from '@fettle/geom';
import type { TrueFeature, TrueFeatures, Truth } from './truth.js';

const degrees = (radians: number): number => (radians * 180) / Math.PI;
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const along = (a: Vec3, b: Vec3, s: number): Vec3 => [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];
const minus = (a: Vec3, b: Vec3): Vec3 => along(a, b, -1);

/** What a value on the pump's job sheet would be if scanner and casting were perfect; undefined where nothing is true or false. */
export function trueValue({ onPump }: Truth, row: SheetRow, value: SheetValue): number | undefined {
  if (row.step === 'measure') return trueMeasures(onPump)[row.id];
  const feature: TrueFeature | undefined = onPump[row.id as keyof TrueFeatures];
  if (feature === undefined) return undefined;
  const [quantity, axis] = value.name.split('-');
  switch (quantity) {
    case 'x':
    case 'y':
    case 'z': {
      const [x, y, z] = ['x', 'y', 'z'].map((name) => row.values.find((v) => v.name === name)!.value);
      return nearestOf(feature, [x!, y!, z!])['xyz'.indexOf(quantity)];
    }
    case 'diameter':
      return 'radius' in feature ? 2 * feature.radius : undefined;
    case 'angle':
      return degrees(Math.acos(Math.abs(directionOf(feature)['xyz'.indexOf(axis!)]!)));
    default:
      return undefined;
  }
}

/** Where a feature without ends is said to be, is a matter of taste: right is the place on it nearest to the measured one. */
function nearestOf(feature: TrueFeature, to: Vec3): Vec3 {
  switch (feature.kind) {
    case 'plane':
      return along(to, feature.normal, -dot(feature.normal, minus(to, feature.point)));
    case 'line':
    case 'cylinder':
      return along(feature.point, feature.direction, dot(feature.direction, minus(to, feature.point)));
    case 'circle':
    case 'sphere':
      return feature.center;
    case 'point':
      return feature.position;
  }
}

function directionOf(feature: TrueFeature): Vec3 {
  if ('normal' in feature) return feature.normal;
  if ('direction' in feature) return feature.direction;
  return [Number.NaN, Number.NaN, Number.NaN];
}

function trueMeasures(is: TrueFeatures): Record<string, number> {
  const apart = minus(is['left-hole'].center, is['right-hole'].center);
  const between = (a: Vec3, b: Vec3): number => degrees(Math.acos(Math.abs(dot(a, b))));
  return {
    'holes-apart': Math.sqrt(dot(apart, apart)),
    'bore-depth': is['bore-mouth'].position[2],
    'knob-height': is.knob.center[2],
    'front-draft': between(is.front.normal, is.top.normal),
    'side-draft': between(is.side.normal, is.top.normal),
    'front-to-side': between(is.front.normal, is.side.normal),
  };
}
