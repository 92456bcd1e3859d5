import { derive, type Uncertain, uncertaintyOf } from '../construct/propagate.js';
import { FettleError } from '../error.js';
import type { Feature } from '../feature/feature.js';
import { expandedNumber } from '../fit/expanded.js';
import type { NumberUncertainty } from '../fit/uncertainty.js';
import type { Frame } from '../frame/frame.js';
import { addScaled, cross, dot, length, normalize, perpendiculars, scale, type Vec3 } from '../math/vec3.js';

/**
 * How far numbers on the job sheet can be trusted. A number that bends where it is read (an angle near 0° or 90°, a distance
 * near 0) has no slope there and would seem certain: such numbers are split into parts that do not bend.
 */

type Part = Pick<NumberUncertainty, 'standard' | 'random' | 'degreesOfFreedom'>;

/** Undefined where nothing is uncertain, or where what it is made of does not hold within its own uncertainty. */
export function ofFeature(of: Uncertain<Feature>) {
  return tried(of, () => uncertaintyOf(of));
}
export function ofFrame(of: Uncertain<Frame>) {
  return tried(of, () => uncertaintyOf(of));
}
const ofNumber = (of: Uncertain<number>): Part | undefined => tried(of, () => uncertaintyOf(of));

function tried<T>(of: Uncertain<unknown>, ask: () => T): T | undefined {
  if (of.roots.size === 0) return undefined;
  try {
    return ask();
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}

/** ± 95 % of a part, in its own unit; undefined where none can be told. */
function expanded(part: Part | undefined): number | undefined {
  if (part === undefined) return undefined;
  const { value } = expandedNumber(part);
  return Number.isFinite(value) ? value : undefined;
}

/** ± 95 % of a number that does not bend where it is. */
export const plusMinus = (of: Uncertain<number>): number | undefined => expanded(ofNumber(of));

/**
 * ± 95 % of the length of a vector, also near 0: what moves it along itself counts in full, what moves it across by how much
 * longer that makes it, which is σ²/2ℓ to second order and no more than σ.
 */
export function plusMinusOfLength(of: Uncertain<Vec3>): number | undefined {
  const l = length(of.value);
  const along: Vec3 = l > 0 ? normalize(of.value) : [1, 0, 0];
  const component = (axis: Vec3) => ofNumber(derive([of], (v) => dot(v, axis)));
  const [first, ...across] = [along, ...perpendiculars(along)].map(component);
  if (first === undefined) return undefined;
  return expanded([first, ...across.map((part) => part && lengthening(part, l))].reduce(together));
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
  const lean = ofNumber(derive([first, second], (p, q) => Math.atan2(dot(q, square(u, p)), sign * dot(q, p))));
  if (lean === undefined) return undefined;
  const v = cross(a, u);
  const across = ofNumber(derive([first, second], (p, q) => Math.asin(dot(q, square(v, p)))));
  // cos of the whole is cos of the lean times cos of the lean across: at a right angle the latter adds nothing.
  return expanded(together(lean, across && lengthening(across, Math.tan(angle))));
}

/** What a part across a length adds to it. */
const lengthening = ({ standard, random, degreesOfFreedom }: Part, l: number): Part => {
  const share = standard > 2 * l ? 1 : standard / (2 * l);
  return { standard: standard * share, random: random * share, degreesOfFreedom };
};

const together = (a: Part | undefined, b: Part | undefined): Part | undefined => {
  if (a === undefined || b === undefined) return a ?? b;
  return {
    standard: Math.hypot(a.standard, b.standard),
    random: Math.hypot(a.random, b.random),
    degreesOfFreedom: Math.min(a.degreesOfFreedom, b.degreesOfFreedom),
  };
};

/** A scaled copy: ± of twice a number, of degrees from radians. */
export const times = (value: number | undefined, factor: number): { uncertainty?: number } =>
  value === undefined ? {} : { uncertainty: value * factor };

/** The uncertain part of a vector square to an uncertain direction. */
export const squareTo = (vector: Uncertain<Vec3>, direction: Uncertain<Vec3>): Uncertain<Vec3> =>
  derive([vector, direction], (v, d) => addScaled(v, d, -dot(v, d)));

/** The uncertain part of a vector along an uncertain direction. */
export const alongOf = (vector: Uncertain<Vec3>, direction: Uncertain<Vec3>): Uncertain<Vec3> =>
  derive([vector, direction], (v, d) => scale(d, dot(v, d)));
