import type { Plan, SheetRow, SheetValue, Vec3 } from '@fettle/geom';
import { casting } from './casting.js';
import type { TrueFeature, TrueFeatures, Truth } from './truth.js';

const degrees = (radians: number): number => (radians * 180) / Math.PI;
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const along = (a: Vec3, b: Vec3, s: number): Vec3 => [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];
const minus = (a: Vec3, b: Vec3): Vec3 => along(a, b, -1);
const axes = ['x', 'y', 'z'] as const;

/** What a value on the pump's job sheet would be if scanner and casting were perfect; undefined where nothing is true or false. */
export function trueValue({ onPump }: Truth, plan: Plan, row: SheetRow, value: SheetValue): number | undefined {
  if (row.step === 'measure') return trueMeasures(onPump, plan)[row.id];
  if (row.id === 'slot-outline')
    return value.name.startsWith('radius') ? casting.keySlot.width / 2 : slotOutline(value);
  if (row.step === 'by-hand') return value.name === 'difference' ? 0 : trueByHand(onPump, plan)[row.id];
  if (perfect.includes(value.name)) return 0;
  const feature: TrueFeature | undefined = onPump[sameAs[row.id] ?? (row.id as keyof TrueFeatures)];
  if (feature === undefined) return undefined;
  const place = placeOf(feature, row.where);
  if (value.name === 'pitch' || value.name === 'pitch-across')
    return (row.id === 'pin-row' ? casting.pinHoles : casting.flangeHoles).pitch;
  if (value.name === 'grid-angle') return 90;
  const [quantity, axis] = value.name.split('-');
  switch (quantity) {
    case 'x':
    case 'y':
    case 'z':
      return place[axes.indexOf(quantity)];
    case 'offset':
      return feature.kind === 'plane' ? dot(feature.normal, feature.point) : undefined;
    case 'diameter':
      if (feature.kind === 'cone') return 2 * Math.tan(feature.halfAngle) * Math.hypot(...minus(place, feature.apex));
      return 'radius' in feature ? 2 * feature.radius : undefined;
    case 'length':
    case 'width':
      return feature.kind === 'slot' ? feature[quantity] : undefined;
    case 'major':
    case 'minor':
      return feature.kind === 'ellipse' ? 2 * feature[quantity] : undefined;
    case 'tilt':
      return feature.kind === 'ellipse' ? degrees(Math.acos(feature.minor / feature.major)) : undefined;
    case 'cone':
      return feature.kind === 'cone' ? degrees(2 * feature.halfAngle) : undefined;
    case 'spacing':
      return 360 / casting.tapped.count;
    case 'angle':
      return degrees(Math.acos(Math.min(1, Math.abs(directionOf(feature)[axes.indexOf(axis as 'x')]!))));
    default:
      return undefined;
  }
}

/** Form, and how far holes are off their places: none on a perfect casting. */
const perfect: readonly string[] = ['flatness', 'straightness', 'roundness', 'cylindricity', 'form', 'off-place'];

/** Rows that tell again of what another tells. */
const sameAs: Readonly<Record<string, keyof TrueFeatures>> = {
  'feet-flatness': 'top',
  'left-foot': 'top',
  'right-foot': 'top',
  'right-hole-pin': 'right-hole',
  'bore-roundness': 'bore-section',
  'bore-floor': 'bore-section',
  'bore-form': 'bore',
  'bore-pin': 'bore',
  'knob-form': 'knob',
};

/** What a caliper without error would read. */
const trueByHand = (is: TrueFeatures, plan: Plan): Record<string, number | undefined> => ({
  'holes-by-hand': trueMeasures(is, plan)['holes-apart'],
  'slot-by-hand': casting.keySlot.width,
  'bore-by-hand': 2 * is.bore.radius,
});

/** Of the key slot's outline, where its rim is whole: its width, and what it encloses. */
function slotOutline({ name }: SheetValue): number | undefined {
  const { length, width } = casting.keySlot;
  if (name.startsWith('width')) return width;
  return name === 'area' ? (length - width) * width + (Math.PI * width ** 2) / 4 : undefined;
}

/** Where a feature is; of an axis where the row says: `… crosses y = 0`. */
function placeOf(feature: TrueFeature, where: string | undefined): Vec3 {
  switch (feature.kind) {
    case 'plane':
      return feature.point;
    case 'line':
    case 'cylinder':
    case 'cone': {
      const [, name, level] = /crosses ([xyz]) = (-?[\d.]+)/.exec(where ?? '') ?? [];
      const point = feature.kind === 'cone' ? feature.apex : feature.point;
      if (name === undefined) return point;
      const axis = axes.indexOf(name as 'x');
      return along(point, feature.direction, (Number(level) - point[axis]!) / feature.direction[axis]!);
    }
    case 'point':
      return feature.position;
    default:
      return feature.center;
  }
}

function directionOf(feature: TrueFeature): Vec3 {
  if ('direction' in feature) return feature.direction;
  if ('normal' in feature) return feature.normal;
  return [Number.NaN, Number.NaN, Number.NaN];
}

function trueMeasures(is: TrueFeatures, plan: Plan): Record<string, number> {
  const apart = minus(is['left-hole'].center, is['right-hole'].center);
  const between = (a: Vec3, b: Vec3): number => degrees(Math.acos(Math.abs(dot(a, b))));
  const [first, last] = endsOfBore(is, plan);
  const { at } = stepOf(plan, 'bore-position') as unknown as { at: Vec3 };
  const off = (p: Vec3): number => Math.hypot(p[0] - at[0], p[2] - at[2]);
  return {
    'holes-apart': Math.sqrt(dot(apart, apart)),
    'bore-depth': is['bore-mouth'].position[2],
    'feet-step': 0,
    'feet-coplanarity': 0,
    'bore-symmetry': 2 * Math.max(...[first, last].map((p) => Math.abs(p[0] - casting.feet.middle))),
    'bore-level': Math.abs(first[2] - last[2]),
    'bore-position': 2 * Math.max(off(first), off(last)),
    'face-square': 0,
    'ring-on-bore': 0,
    'hub-on-post': 0,
    'knob-height': is.knob.center[2],
    'front-draft': between(is.front.normal, is.top.normal),
    'side-draft': between(is.side.normal, is.top.normal),
    'front-to-side': between(is.front.normal, is.side.normal),
  };
}

/** The bore's axis as far as the plan's box for its wall reaches. */
function endsOfBore({ bore }: TrueFeatures, plan: Plan): readonly [Vec3, Vec3] {
  const { box } = stepOf(plan, 'bore-wall') as unknown as { box: { min: Vec3; max: Vec3 } };
  const at = (y: number): Vec3 => along(bore.point, bore.direction, (y - bore.point[1]) / bore.direction[1]);
  return [at(box.min[1]), at(box.max[1])];
}

function stepOf(plan: Plan, id: string): Plan['steps'][number] {
  const step = plan.steps.find((s) => s.id === id);
  if (step === undefined) throw new Error(`The plan has no step ${id}.`);
  return step;
}
