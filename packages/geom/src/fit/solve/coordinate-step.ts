import { seededRandom } from '../../math/random.js';
import type { Vec3 } from '../../math/vec3.js';
import type { PointSet } from './point-set.js';
import { samplePoints } from './sample.js';

/** Points looked at, at most and at least: few may fit a step by chance. */
const LOOKED_AT = 2000;
const LEAST = 12;
const SEED = 5;
/** Coordinates may be off their step by the rounding of single or double precision; steps of fewer times that are none. */
const SINGLE = 2 ** -22;
const DOUBLE = 2 ** -50;
const CLEAR = 40;
/** Share of a step by which they may be off it. */
const OFF = 0.05;
/** Steps coarser than this, mm, are those of a pattern of points, not of digits. */
const COARSEST = 0.1;
/** Planes that rise by so many steps spread the rounding by themselves: it averages out, and shows in the residuals. */
const SPREAD = 3;

/** Digits that were cut off from all points of a surface alike. */
export interface StepAcross {
  readonly axis: 'x' | 'y' | 'z';
  /** mm; 0 where all points share one coordinate and nothing tells the digits it was written with. */
  readonly step: number;
}

/**
 * The last digit of coordinates across a surface that lies along two axes, or of a line along one, where they were written with few: there
 * most points round alike, most residuals are 0, and what was cut off is the same in all. Given the unit normal; undefined for surfaces
 * that cross many steps; where no step shows in a sample of the points; and for points turned after they were written. Points that all
 * share the coordinate tell no step of it: that of the other coordinates is taken, a file writes all alike. Tried for a plane of 40 mm
 * with steps of 0.1 mm: rising by half a step and less its mean is several standard uncertainties off, by two and more it is not.
 */
export function stepAlong(set: PointSet): (normal: Vec3) => StepAcross | undefined {
  const sample = samplePoints(set, LOOKED_AT, seededRandom(SEED));
  const looked = new Map<number, Axis>();
  const axisOf = (k: number): Axis => {
    const known = looked.get(k);
    if (known) return known;
    const values = Float64Array.from({ length: sample.count }, (_, i) => sample.xyz[3 * i + k]).sort();
    const step = set.count < LEAST ? 0 : digitsOf(values);
    const axis = { step: step > COARSEST ? 0 : step, extent: values[values.length - 1] - values[0] };
    looked.set(k, axis);
    return axis;
  };
  return (n) => {
    const along = AXES.reduce((best, k) => (Math.abs(n[k]) > Math.abs(n[best]) ? k : best));
    const axis = (['x', 'y', 'z'] as const)[along];
    const { step, extent } = axisOf(along);
    if (extent === 0) return { axis, step: Math.max(...AXES.map((k) => axisOf(k).step)) };
    if (step === 0) return undefined;
    let rise = 0;
    for (const k of AXES) if (k !== along) rise += Math.abs(n[k] / n[along]) * axisOf(k).extent;
    return rise < SPREAD * step ? { axis, step } : undefined;
  };
}
const AXES = [0, 1, 2] as const;

interface Axis {
  /** mm; 0 where there is none. */
  readonly step: number;
  readonly extent: number;
}

/** The last digit that sorted coordinates were written with; 0 where none shows. */
export const digitsOf = (values: Float64Array): number => stepOf(values, SINGLE) || stepOf(values, DOUBLE);

/** Of sorted values; 0 where there is none. A single gap between them is a whole number of itself and tells nothing. */
function stepOf(values: Float64Array, precision: number): number {
  const rounding = precision * Math.max(Math.abs(values[0]), Math.abs(values[values.length - 1]));
  const gaps = values.subarray(1).map((value, i) => value - values[i]);
  const clear = gaps.filter((gap) => gap > rounding);
  if (clear.length < 2) return 0;
  const step = written(
    clear.reduce((least, gap) => Math.min(least, gap)),
    rounding,
  );
  if (step < CLEAR * rounding) return 0;
  const isOff = (gap: number): boolean => Math.abs(gap - step * Math.round(gap / step)) > OFF * step + rounding;
  return gaps.some(isOff) ? 0 : step;
}

/** The shortest number within rounding of a step. */
function written(step: number, rounding: number): number {
  for (const digits of [1, 2, 3]) {
    const short = Number(step.toPrecision(digits));
    if (Math.abs(short - step) <= rounding) return short;
  }
  return step;
}
