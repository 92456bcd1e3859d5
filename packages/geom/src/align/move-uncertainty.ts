import type { Uncertainty } from '../feature/uncertainty.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { symmetricEigen } from '../math/symmetric-eigen.js';
import type { ScanNoise } from '../noise/scan-noise.js';
import { PlaceTable } from '../prepare/place-table.js';
import { derivatives, type Fine, middleOfPairs, WIDTH as TUKEY } from './fine.js';
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

/** Clusters are this many times as wide as the length that neighbors err together over, */
const LENGTHS = 5;
/** and this share of the reach at least and at most, so that there are enough of them. */
const NARROWEST = 1 / 8;
const WIDEST = 1 / 3;

/**
 * Standard uncertainty of a move: as that of a frame, by small shifts along and turns about the axes of the reference, about the middle
 * of what both saw.
 *
 * Model: the distances d = J·m + e, m the six small moves, e the errors of both scans. Neighbors err together, so the pairs are taken in
 * clusters, cubes wide enough that what happens in one says little of the next: the covariance of m is A⁻¹·(Σ g·gᵀ)·A⁻¹, g the sum of
 * ψ(d)·J over a cluster, A = Σ ψ'(d)·J·Jᵀ, ψ Tukey's (K.-Y. Liang & S. Zeger, Biometrika 73 (1986) 13, on clusters; P. Huber, Robust
 * Statistics, 6, on A). How wide, the scans' own noise tells. Where noise is alike over a third of the body and more, nothing shows it.
 *
 * Tried: the variances and lengths that `scanNoise` finds, each point sharing its error with the 2π·ℓ² mm² about it. A trace of long
 * noise that is not there (a sixth of what is white) makes the variance 18 times what fresh noise gives.
 */
export function moveUncertainty(
  { pairs, weights, sigma }: Fine,
  noises: readonly ScanNoise[],
): { readonly uncertainty: Uncertainty; readonly weak: readonly WeaklyHeld[] } {
  const { center, reach } = middleOfPairs(pairs, weights);
  const width = Math.min(WIDEST * reach, Math.max(NARROWEST * reach, LENGTHS * Math.max(0, ...noises.map(lengthOf))));
  const table = new PlaceTable(pairs.count);
  const sums = new Float64Array(6 * pairs.count);
  const matrix = new Float64Array(36);
  const j = new Float64Array(6);
  for (let i = 0; i < pairs.count; i++) {
    if (weights[i] === 0) continue;
    derivatives(pairs, i, center, j);
    const { place, off } = pairs;
    const at = (k: number): number => Math.floor(place[3 * i + k] / width);
    const c = table.number(at(0), at(1), at(2));
    const u = (off[i] / (TUKEY * sigma)) ** 2;
    const slope = (1 - u) * (1 - 5 * u);
    for (let a = 0; a < 6; a++) {
      sums[6 * c + a] += weights[i] * off[i] * j[a];
      for (let b = 0; b < 6; b++) matrix[6 * a + b] += slope * j[a] * j[b];
    }
  }
  const clusters = table.count;
  const covariance = between(matrix, sums, clusters);
  const { values, ways } = held({ center, reach }, pairs.count, pairs.place, pairs.normal, weights);
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
      degreesOfFreedom: Math.max(1, clusters / 2 - 6),
      reach,
    },
    weak: weakWays(covariance, reach, { values, ways }),
  };
}

/** A⁻¹·S·A⁻¹, S the sum of the squares of the clusters' sums. */
function between(matrix: Float64Array, sums: Float64Array, clusters: number): Float64Array {
  const inverse = scaledCholesky(matrix, 6)?.inverse();
  const covariance = new Float64Array(36);
  if (!inverse || clusters < 2) return covariance.fill(Number.POSITIVE_INFINITY);
  const step = new Float64Array(6);
  for (let c = 0; c < clusters; c++) {
    for (let a = 0; a < 6; a++) {
      step[a] = 0;
      for (let b = 0; b < 6; b++) step[a] += inverse[6 * a + b] * sums[6 * c + b];
    }
    for (let a = 0; a < 6; a++)
      for (let b = 0; b < 6; b++) covariance[6 * a + b] += (step[a] * step[b] * clusters) / Math.max(1, clusters - 6);
  }
  return covariance;
}

/** Length over which neighbors err together, as the noise shares it out, mm. */
function lengthOf({ model }: ScanNoise): number {
  if (!model) return 0;
  const { white, terms } = model;
  const whole = terms.reduce((sum, { variance }) => sum + variance, white);
  return whole > 0 ? terms.reduce((sum, { variance, length }) => sum + variance * length, 0) / whole : 0;
}

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
