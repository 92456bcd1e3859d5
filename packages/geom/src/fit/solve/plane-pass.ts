import { scaledCholesky } from '../../math/scaled-solve.js';
import { dot, type Vec3 } from '../../math/vec3.js';
import type { Solution } from './gauss-newton.js';
import { move, type Placement, roundingAt } from './placement.js';
import type { PointSet } from './point-set.js';
import type { Residuals } from './solved.js';
import type { Spread } from './spread.js';

/** Points looked at before the next ones: they stay in the first level of cache. */
const BLOCK = 512;
const MOST_PASSES = 6;

/**
 * Points whose second extent is more than this share of their longest have their principal axes to rounding: an axis errs by some
 * last digits times the square of longest over second extent, at most 1e-12 here.
 */
const WIDE = 0.02;

/**
 * Finish a plane that starts on principal axes, keeping the residuals of the pass that shows it is right. Of points spread both
 * ways the start is the answer to rounding, and one pass takes residuals. Of narrow strips it is corrected: a distance to a plane is
 * linear in small moves, so JᵀJ follows from the points' spread, and each pass needs only Jᵀd.
 *
 * Tried, 2 M points, one idle core: Gauss-Newton with passes of its own for sums and for residuals 50 ms; residuals and Jᵀd in one
 * loop 21 ms; residuals alone 10 ms, most of it the first touch of their memory. (Spread of the points: 15 ms before either.)
 *
 * The last correction, below a thousand times rounding, is in the placement and not in the residuals.
 */
export function planePass(
  set: PointSet,
  spread: Spread,
  start: Placement,
): Omit<Solution, 'equations'> & { readonly residuals: Residuals } {
  const values = new Float64Array(set.count);
  const parameters = ['shift-w', 'tilt-u', 'tilt-v'] as const;
  const isWide = spread.extent[1] > WIDE * spread.extent[0];
  let placement = start;
  for (let iterations = 1; ; iterations++) {
    const { gradient, ...sums } = lookOnce(set, spread.centroid, placement, values, !isWide);
    if (!gradient) return { placement, iterations, converged: true, residuals: { values, sums } };
    const step = scaledCholesky(information(set.count, spread, placement), 3)?.solve(gradient.map((g) => -g));
    const gain = step ? step.reduce((sum, s, k) => sum - s * gradient[k], 0) : Number.NaN;
    const length = Math.sqrt(Math.max(0, gain) / set.count);
    if (step && Number.isFinite(length)) placement = move(placement, parameters, step);
    const converged = length <= 1000 * roundingAt(placement, spread.size);
    if (converged || iterations === MOST_PASSES) {
      return { placement, iterations, converged, residuals: { values, sums } };
    }
  }
}

/** JᵀJ about the centroid, from the principal extents. */
function information(count: number, { axes, extent }: Spread, { u, v }: Placement): Float64Array {
  const along = (a: Vec3, b: Vec3): number =>
    axes.reduce((sum, axis, k) => sum + count * extent[k] ** 2 * dot(a, axis) * dot(b, axis), 0);
  return Float64Array.of(count, 0, 0, 0, along(u, u), along(u, v), 0, along(u, v), along(v, v));
}

function lookOnce(
  { xyz, count }: PointSet,
  [ox, oy, oz]: Vec3,
  { at, u, v, w }: Placement,
  values: Float64Array,
  withGradient: boolean,
): { squares: number; low: number; high: number; gradient?: Float64Array } {
  const [wx, wy, wz] = w;
  const level = dot(at, w);
  const sums = Float64Array.of(0, Infinity, -Infinity);
  const moments = new Float64Array(4);
  for (let from = 0; from < count; from += BLOCK) {
    const to = Math.min(count, from + BLOCK);
    addResiduals(xyz, from, to, ox, oy, oz, wx, wy, wz, level, values, sums);
    if (withGradient) addMoments(xyz, from, to, ox, oy, oz, values, moments);
  }
  const [squares, low, high] = sums;
  if (!withGradient) return { squares, low, high };
  const [sum, x, y, z] = moments;
  const moment: Vec3 = [x, y, z];
  return { squares, low, high, gradient: Float64Array.of(-sum, dot(moment, u), dot(moment, v)) };
}

/**
 * Typed arrays and numbers alone, as in `normal-equations.ts`; `| 0` spares a look for overflow at each index, a fifth of the time.
 * Into `sums`: Σr², least, largest.
 */
function addResiduals(
  xyz: Float64Array,
  from: number,
  to: number,
  ox: number,
  oy: number,
  oz: number,
  wx: number,
  wy: number,
  wz: number,
  level: number,
  values: Float64Array,
  sums: Float64Array,
): void {
  let squares = 0;
  let low = sums[1];
  let high = sums[2];
  let i = (3 * from) | 0;
  for (let k = from | 0; k < to; k = (k + 1) | 0) {
    const r = (xyz[i] - ox) * wx + (xyz[(i + 1) | 0] - oy) * wy + (xyz[(i + 2) | 0] - oz) * wz - level;
    i = (i + 3) | 0;
    values[k] = r;
    squares += r * r;
    low = Math.min(low, r);
    high = Math.max(high, r);
  }
  sums[0] += squares;
  sums[1] = low;
  sums[2] = high;
}

/** Into `moments`: Σr, Σrx, Σry, Σrz. */
function addMoments(
  xyz: Float64Array,
  from: number,
  to: number,
  ox: number,
  oy: number,
  oz: number,
  values: Float64Array,
  moments: Float64Array,
): void {
  let sum = 0;
  let x = 0;
  let y = 0;
  let z = 0;
  for (let k = from, i = 3 * from; k < to; k++, i += 3) {
    const r = values[k];
    sum += r;
    x += r * (xyz[i] - ox);
    y += r * (xyz[i + 1] - oy);
    z += r * (xyz[i + 2] - oz);
  }
  moments[0] += sum;
  moments[1] += x;
  moments[2] += y;
  moments[3] += z;
}
