import { acuteAngle } from '../../construct/alignment.js';
import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Vec3 } from '../../math/vec3.js';
import { isFixed, plusMinus, plusMinusOfAngle, times } from './doubt.js';
import type { Limits, SheetUnit } from './outcome.js';

/** One number read off a feature, with ± 95 % in its own unit where that can be told. Lengths in mm, angles in degrees. */
export interface Reading {
  readonly name: string;
  readonly value: number;
  readonly unit: SheetUnit;
  readonly uncertainty?: number;
  /** Where the quantity itself ends; absent where it may have any value. */
  readonly ends?: Limits;
  /** A size the plan gives, taken as it stands. */
  readonly given?: true;
}

export const inDegrees = 180 / Math.PI;

/** Of lengths without a sign, and of zones. */
export const fromZero: Limits = { min: 0 };
/** Of the angle between two lines, whichever way they point. */
export const acute: Limits = { min: 0, max: 90 };

/** A reading of a number that does not bend where it is. */
export const reading = (name: string, of: Uncertain<number>, unit: 'mm' | '°' = 'mm', ends?: Limits): Reading => {
  const factor = unit === '°' ? inDegrees : 1;
  return { name, value: of.value * factor, unit, ...times(plusMinus(of), factor), ...(ends && { ends }) };
};

/** The same, unless the number is 0 by definition, as a coordinate on its own datum, and not asked for. */
export const tellingReading = (
  name: string,
  of: Uncertain<number>,
  unit: 'mm' | '°' = 'mm',
  asked: Asked = {},
  ends?: Limits,
): readonly Reading[] =>
  asked[name] === undefined && Math.abs(of.value) < rounding && isFixed(of) ? [] : [reading(name, of, unit, ends)];

/** A reading of the angle between two directions, in [0°, 90°], whichever way they point. */
export const angleReading = (name: string, first: Uncertain<Vec3>, second: Uncertain<Vec3>): Reading => ({
  name,
  value: acuteAngle(first.value, second.value) * inDegrees,
  unit: '°',
  ...times(plusMinusOfAngle(first, second), inDegrees),
  ends: acute,
});

/** The same, unless the angle is 0 or right by definition, as of a normal to its own axis, and not asked for. */
export function tellingAngle(
  name: string,
  first: Uncertain<Vec3>,
  second: Uncertain<Vec3>,
  asked: Asked = {},
): readonly Reading[] {
  const angle = derive([first, second], acuteAngle);
  const isPlain = Math.min(angle.value, Math.PI / 2 - angle.value) < rounding;
  return asked[name] === undefined && isPlain && isFixed(angle) ? [] : [angleReading(name, first, second)];
}

/** Values a plan sets limits on, by name: they are told in any case. */
export type Asked = Readonly<Record<string, unknown>>;

/** mm or radians. */
const rounding = 1e-9;
