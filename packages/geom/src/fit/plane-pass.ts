import { scaledCholesky } from '../math/scaled-solve.js';
import { dot, type Vec3 } from '../math/vec3.js';
import type { Solution } from './gauss-newton.js';
import { move, type Placement, roundingAt } from './placement.js';
import type { PointSet } from './point-set.js';
import type { Residuals } from './result.js';
import type { Spread } from './spread.js';

/** Points a block of the loop sums before they go into the totals. */
const BLOCK = 1024;
const MOST_PASSES = 6;

/**
 * Correct a plane that is nearly right, keeping the residuals of the pass that shows it is right: a distance to a plane is linear
 * in small moves, so JᵀJ follows from the points' spread, and each pass needs only Jᵀd. Against Gauss-Newton with passes of its
 * own for sums and for residuals, 2 M points: 22 ms instead of 50 ms.
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
  let placement = start;
  for (let iterations = 1; ; iterations++) {
    const { gradient, ...sums } = lookOnce(set, spread.centroid, placement, values);
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
  origin: Vec3,
  { at, u, v, w }: Placement,
  values: Float64Array,
): { squares: number; low: number; high: number; gradient: Float64Array } {
  const axes = Float64Array.of(...origin, ...u, ...v, ...w, dot(at, w));
  const sums = Float64Array.of(0, 0, 0, 0, Infinity, -Infinity);
  for (let from = 0; from < count; from += BLOCK)
    addBlock(xyz, from, Math.min(count, from + BLOCK), axes, values, sums);
  const [sum, sumU, sumV, squares, low, high] = sums;
  return { squares, low, high, gradient: Float64Array.of(-sum, sumU, sumV) };
}

/** Typed arrays and numbers alone, as in `normal-equations.ts`. */
function addBlock(
  xyz: Float64Array,
  from: number,
  to: number,
  axes: Float64Array,
  values: Float64Array,
  sums: Float64Array,
): void {
  const ox = axes[0];
  const oy = axes[1];
  const oz = axes[2];
  const ux = axes[3];
  const uy = axes[4];
  const uz = axes[5];
  const vx = axes[6];
  const vy = axes[7];
  const vz = axes[8];
  const wx = axes[9];
  const wy = axes[10];
  const wz = axes[11];
  const level = axes[12];
  let r1 = 0;
  let ru = 0;
  let rv = 0;
  let rr = 0;
  let low = sums[4];
  let high = sums[5];
  for (let k = from, i = 3 * from; k < to; k++, i += 3) {
    const x = xyz[i] - ox;
    const y = xyz[i + 1] - oy;
    const z = xyz[i + 2] - oz;
    const r = x * wx + y * wy + z * wz - level;
    values[k] = r;
    r1 += r;
    ru += r * (x * ux + y * uy + z * uz);
    rv += r * (x * vx + y * vy + z * vz);
    rr += r * r;
    if (r < low) low = r;
    if (r > high) high = r;
  }
  sums[0] += r1;
  sums[1] += ru;
  sums[2] += rv;
  sums[3] += rr;
  sums[4] = low;
  sums[5] = high;
}
