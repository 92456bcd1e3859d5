import type { PointSet } from './point-set.js';

/** Points looked at, at most and at least: few may fit a step by chance. */
const LOOKED_AT = 2000;
const LEAST = 12;
/** Coordinates may be off their step by the rounding of single precision. */
const SINGLE = 2 ** -22;
/** Share of a step by which they may be off it. */
const OFF = 0.05;
/** Steps of fewer times that rounding are none. */
const CLEAR = 40;
/** Steps coarser than this, mm, are those of a pattern of points, not of digits. */
const COARSEST = 0.1;

/**
 * The step that all coordinates are whole numbers of, mm: that of the last digit, of points that were written with few digits.
 * 0 where one of the axes has none, and where the step is coarser than 0.1 mm.
 */
export function coordinateStep({ xyz, count }: PointSet): number {
  if (count < LEAST) return 0;
  let step = Infinity;
  const every = Math.max(1, Math.floor(count / LOOKED_AT));
  for (let axis = 0; axis < 3; axis++) {
    const seen: number[] = [];
    for (let i = 0; i < count; i += every) seen.push(xyz[3 * i + axis]);
    step = Math.min(step, stepOf(Float64Array.from(seen).sort()));
    if (step === 0) return 0;
  }
  return step <= COARSEST * (1 + OFF) ? step : 0;
}

/** Of sorted values; Infinity where all are the same. */
function stepOf(values: Float64Array): number {
  const rounding = SINGLE * Math.max(Math.abs(values[0]), Math.abs(values[values.length - 1]));
  const gaps = values.subarray(1).map((value, i) => value - values[i]);
  let step = Infinity;
  for (const gap of gaps) if (gap > rounding) step = Math.min(step, gap);
  if (step < CLEAR * rounding) return 0;
  // A single gap is a whole number of itself.
  if (gaps.filter((gap) => gap > rounding).length === 1) return Infinity;
  const isOff = (gap: number): boolean => Math.abs(gap - step * Math.round(gap / step)) > OFF * step + rounding;
  return gaps.some(isOff) ? 0 : step;
}
