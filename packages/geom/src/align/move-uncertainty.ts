import type { Uncertainty } from '../fit/uncertainty.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { symmetricEigen } from '../math/symmetric-eigen.js';
import { PIECE_AREA } from '../noise/kernels.js';
import type { NoiseModel, ScanNoise } from '../noise/scan-noise.js';
import { derivatives, type Fine, middleOfPairs } from './fine.js';
import { held, type Way } from './freedom.js';

/** A way along which a move is held far worse than along others. */
export interface WeaklyHeld {
  /** Shift, mm, in the axes of the reference, and turn about its `at`, radians: for one standard uncertainty. */
  readonly shift: readonly [number, number, number];
  readonly turn: readonly [number, number, number];
  /** By how much the move may be off along it: standard uncertainty, mm at the reach of the scan. */
  readonly standard: number;
}

/** A way is weakly held if a mm along it moves the surface by less than this, mean square. */
const WEAK = 0.01;

/**
 * Standard uncertainty of a move: as that of a frame, by small shifts along and turns about the axes of the reference, about the middle
 * of what both saw.
 *
 * Model: the distances d = J·m + e, m the six small moves, e the errors of both scans, alike over the lengths that `scanNoise` finds:
 * the covariance of m is (JᵀJ)⁻¹·JᵀVJ·(JᵀJ)⁻¹. Where J changes little over a length ℓ, a point shares its error of variance v with the
 * 2π·ℓ² mm² about it (the integral of each kernel over the plane), so that V acts like white noise of v·2π·ℓ²·(points a mm²). Where
 * the distances spread more than both noises account for (a rough skin, bends, another state of the body), it grows in proportion.
 * Weights by Tukey cost a twentieth (95 % efficiency).
 *
 * @param area of the scan that lies on the reference, mm²
 */
export function moveUncertainty(
  { pairs, weights, sigma }: Fine,
  area: number,
  pieces: number,
  noises: readonly ScanNoise[],
): { readonly uncertainty: Uncertainty; readonly weak: readonly WeaklyHeld[] } {
  const { center, reach } = middleOfPairs(pairs, weights);
  let used = 0;
  const matrix = new Float64Array(36);
  const j = new Float64Array(6);
  for (let i = 0; i < pairs.count; i++) {
    if (weights[i] === 0) continue;
    used++;
    derivatives(pairs, i, center, j);
    for (let a = 0; a < 6; a++) for (let b = 0; b < 6; b++) matrix[6 * a + b] += j[a] * j[b];
  }
  const { variance, degreesOfFreedom } = effective(sigma, used / area, area, pieces / used, noises);
  const inverse = scaledCholesky(matrix, 6)?.inverse() ?? new Float64Array(36).fill(Number.POSITIVE_INFINITY);
  const covariance = inverse.map((value) => (value * variance) / 0.95);
  return {
    uncertainty: {
      kind: 'frame',
      at: center,
      axes: [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
      covariance,
      degreesOfFreedom,
      reach,
    },
    weak: weakWays(covariance, reach, held({ center, reach }, pairs.count, pairs.place, pairs.normal, weights)),
  };
}

/** Variance of one distance as if all were independent, mm², and the degrees of freedom it is known with. */
function effective(
  sigma: number,
  density: number,
  area: number,
  piecesPerPoint: number,
  noises: readonly ScanNoise[],
): { variance: number; degreesOfFreedom: number } {
  const models = noises.flatMap(({ model }) => (model ? [model] : []));
  // A scan that shows no noise of its own: each piece of surface is one, which is much.
  if (models.length < noises.length || models.every((m) => alone(m) === 0))
    return {
      variance: sigma ** 2 / Math.max(piecesPerPoint, 1e-9),
      degreesOfFreedom: Math.max(1, (piecesPerPoint * density * area) / 4 - 6),
    };
  let whole = 0;
  let shared = 0;
  let lost = 0;
  for (const { white, terms } of models) {
    whole += white;
    shared += white;
    for (const { kernel, length, variance } of terms) {
      const own = variance * Math.max(1, 2 * Math.PI * length ** 2 * density);
      whole += variance;
      shared += own;
      lost += own ** 2 / Math.max(1, area / (PIECE_AREA[kernel] * length ** 2) - 6);
    }
  }
  const more = whole > 0 ? Math.max(1, sigma ** 2 / whole) : 1;
  return { variance: shared * more, degreesOfFreedom: lost > 0 ? Math.max(1, shared ** 2 / lost) : density * area };
}

const alone = ({ white, terms }: NoiseModel): number => terms.reduce((sum, { variance }) => sum + variance, white);

function weakWays(
  covariance: Float64Array,
  reach: number,
  { values, ways }: { readonly values: readonly number[]; readonly ways: readonly Way[] },
): WeaklyHeld[] {
  if (!Number.isFinite(covariance[0])) return [];
  const scaled = Float64Array.from(covariance, (value, k) => {
    const [a, b] = [Math.floor(k / 6), k % 6];
    return value * (a > 2 ? reach : 1) * (b > 2 ? reach : 1);
  });
  const spread = symmetricEigen(scaled, 6);
  return ways.flatMap((_, k) => {
    if (values[k] >= WEAK) return [];
    // Worst first: the ways of the covariance and those of what holds run against each other.
    const standard = Math.sqrt(spread.values[5 - k]);
    const way = spread.vectors[5 - k].map((w) => w * standard);
    return [
      {
        shift: [way[0], way[1], way[2]] as const,
        turn: [way[3] / reach, way[4] / reach, way[5] / reach] as const,
        standard,
      },
    ];
  });
}
