import { derive, type Uncertain, uncertaintyOf } from '../../construct/propagate.js';
import { FettleError } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { moved } from '../../feature/small-moves.js';
import type { NumberUncertainty } from '../../feature/uncertainty.js';
import { expandedNumber } from '../../fit/uncertainty/expanded.js';
import { jointFactor } from '../../math/distributions.js';
import type { Frame } from '../../math/frame.js';
import { addScaled, cross, dot, length, normalize, perpendiculars, type Vec3 } from '../../math/vec3.js';

/**
 * How far numbers on the job sheet can be trusted. A number that bends where it is read (an angle near 0° or 90°, a distance
 * near 0) has no slope there and would seem certain: such numbers are split into parts that do not bend.
 */

/** Undefined where nothing is uncertain, or where what it is made of does not hold within its own uncertainty. */
export function ofFeature(of: Uncertain<Feature>) {
  return tried(of, () => uncertaintyOf(of));
}
export function ofFrame(of: Uncertain<Frame>) {
  return tried(of, () => uncertaintyOf(of));
}
function tried<T>(of: Uncertain<unknown>, ask: () => T): T | undefined {
  if (of.roots.size === 0) return undefined;
  try {
    return ask();
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}

/** Smaller than this, mm or radians, a ± is rounding: the number is what it is by definition. */
const rounding = 1e-9;

/** ± 95 % of a number that does not bend where it is, in its own unit; undefined where none can be told. */
export function plusMinus(of: Uncertain<number>): number | undefined {
  const part = tried(of, () => uncertaintyOf(of));
  if (part === undefined) return undefined;
  const { value } = expandedNumber(part);
  return Number.isFinite(value) ? (value < rounding ? 0 : value) : undefined;
}

/** What is known of a number that does not bend where it is, in its own unit; undefined where nothing is. */
export const doubtOf = (of: Uncertain<number>): NumberUncertainty | undefined => tried(of, () => uncertaintyOf(of));

/** A small move of what a number goes back to, mm and radians, and the change of the number that is rounding. */
const NUDGE = 1e-3;
const STILL = 1e-9;

/** Whether a number is what it is by definition: made from uncertain things, yet whichever of them moves, it stays. */
export function isFixed(of: Uncertain<number>): boolean {
  if (of.roots.size === 0) return false;
  const at = new Map([...of.roots].map(([id, { feature }]) => [id, feature]));
  for (const [id, { feature, uncertainty }] of of.roots) {
    const parameters = Math.round(Math.sqrt(uncertainty.covariance.length));
    for (let p = 0; p < parameters; p++) {
      const delta = Float64Array.from({ length: parameters }, (_, i) => (i === p ? NUDGE : 0));
      const value = tried(of, () => of.evaluate(new Map(at).set(id, moved(feature, uncertainty, delta))));
      if (value === undefined || Math.abs(value - of.value) > STILL) return false;
    }
  }
  return true;
}

/**
 * ± 95 % of the length of a vector, also near 0: the ± along it, and by how much the ± across it lengthens it.
 */
export function plusMinusOfLength(of: Uncertain<Vec3>): number | undefined {
  const l = length(of.value);
  const along: Vec3 = l > 0 ? normalize(of.value) : [1, 0, 0];
  const component = (axis: Vec3) => plusMinus(derive([of], (v) => dot(v, axis)));
  const first = component(along);
  const across = perpendiculars(along).map(component);
  return first === undefined ? undefined : first + lengthening(across, l);
}

/**
 * ± 95 % of the angle between two directions whose signs do not matter, radians, also near 0 and near a right angle.
 */
export function plusMinusOfAngle(first: Uncertain<Vec3>, second: Uncertain<Vec3>): number | undefined {
  const [a, b] = [first.value, second.value];
  const angle = Math.atan2(length(cross(a, b)), Math.abs(dot(a, b)));
  const leaning = addScaled(b, a, -dot(a, b));
  const u = length(leaning) > 1e-12 ? normalize(leaning) : perpendiculars(a)[0];
  const sign = dot(a, b) < 0 ? -1 : 1;
  /** A direction square to the first that keeps to a fixed one. */
  const square = (to: Vec3, p: Vec3) => normalize(addScaled(to, p, -dot(to, p)));
  const lean = plusMinus(derive([first, second], (p, q) => Math.atan2(dot(q, square(u, p)), sign * dot(q, p))));
  const v = cross(a, u);
  const across = plusMinus(derive([first, second], (p, q) => Math.asin(dot(q, square(v, p)))));
  // cos of the whole is cos of the lean times cos of the lean across: at a right angle the latter adds nothing.
  return lean === undefined ? undefined : lean + lengthening([across], Math.tan(angle));
}

/**
 * By how much moves square to a length make it longer: across²/2ℓ to second order. It is no spread but a bias, and is added as it
 * stands. At a length of 0 every move lengthens it; there the whole is the joint interval of all directions, no more.
 */
function lengthening(across: readonly (number | undefined)[], l: number): number {
  const size = Math.hypot(...across.map((a) => a ?? 0));
  const joint = jointFactor(0.95, 1 + across.length, Number.POSITIVE_INFINITY);
  const single = jointFactor(0.95, 1, Number.POSITIVE_INFINITY);
  const most = (joint / single - 1) * (size / Math.sqrt(across.length));
  return size * size < most * 2 * l ? (size * size) / (2 * l) : most;
}

/**
 * ± 95 % of a zone that holds points: what is known of the places of the faces it is told by, and that all of the points' heights
 * may be noise, as a rectangular distribution (JCGM 100, 4.3.7). Of form alone it is the heights.
 */
export const withHeights = (doubt: number | undefined, heights: number): number | undefined =>
  doubt === undefined ? undefined : Math.hypot(doubt, (2 * heights) / Math.sqrt(3));

/** A scaled copy: ± of twice a number, of degrees from radians. */
export const times = (value: number | undefined, factor: number): { uncertainty?: number } =>
  value === undefined ? {} : { uncertainty: value * factor };
