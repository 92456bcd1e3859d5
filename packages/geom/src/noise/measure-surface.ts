import { nonNegativeLeastSquares } from '../math/non-negative-least-squares.js';
import { distance, type Vec3 } from '../math/vec3.js';
import { KERNELS, type NoiseKernel } from './kernels.js';
import type { NoiseTerm, SurfaceNoise } from './scan-noise.js';
import type { CellSample, SurfaceSample } from './surface-sample.js';
import { Expectation, type Variogram, variogramOf } from './variogram.js';

/** Lengths tried, a step apart, from the spacing of the points to a share of the surface. */
const STEP = 1.35;
const LONGEST = 0.25;
const FAMILIES: readonly NoiseKernel[] = ['gaussian', 'matern-3/2'];
/** No lag is told better than with so many independent pairs: no kernel is quite true. */
const MOST_PIECES = 300;
/** Points tell lags up to so many sides of a cell, cells those from there on. */
const POINT_LAGS = 3;
const CELL_LAGS = 1.5;

/** A noise that the surface's may be made of. */
interface Candidate {
  readonly kernel: NoiseKernel;
  readonly length: number;
}

/** What the noise shows of a surface: a variogram, and what each candidate, and noise that is each point's own, would make it. */
interface Shown {
  readonly variogram: Variogram;
  readonly white: number;
  readonly expected: readonly Float64Array[];
}

/**
 * The noise of one smooth surface: a mixture of noise that each point has to itself and noise alike over lengths, none of it negative,
 * fitted to the variogram of what lies off the surface: of its points at short distances, of its cells at longer ones, where the
 * points' own noise is averaged out.
 *
 * Source: variograms and sums of Matérn terms, Cressie, Statistics for Spatial Data (1993).
 *
 * Tried, on a face of 60 × 60 mm with points 0.6 mm apart and no shared noise: points alone (700 of them) find shared noise of a fifth of
 * the points' own that is not there, which makes the ± of a 5 mm hole 1.4 times too wide; with cells a twelfth.
 *
 * @param side of the cells, mm
 */
export function measureSurface(
  points: SurfaceSample,
  cells: CellSample,
  area: number,
  spacing: number,
  side: number,
): SurfaceNoise | undefined {
  const { places, residuals, spread } = points;
  const n = residuals.length;
  const center = middleOf(places);
  let reach = 0;
  for (let i = 0; i < n; i++)
    reach = Math.max(reach, distance(center, [places[3 * i], places[3 * i + 1], places[3 * i + 2]]));
  const extent = Math.min(2 * reach, 2 * Math.sqrt(area));
  const rms = Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / n);
  const common = { center, reach, area, rms, places: places.slice(0, 3 * Math.min(spread, 256)) };
  if (rms === 0) return { ...common, white: 0, terms: [] };
  const candidates: Candidate[] = [];
  for (const kernel of FAMILIES)
    for (let length = spacing; length < LONGEST * extent; length *= STEP) candidates.push({ kernel, length });
  const shown = [
    ofPoints(points, candidates, 0.5 * spacing, Math.min(0.5 * extent, POINT_LAGS * side)),
    ofCells(cells, candidates, CELL_LAGS * side, 0.5 * extent, side),
  ].filter((one) => one !== undefined);
  if (shown.length === 0) return undefined;
  const weights = shown.map(({ variogram: { lag, half, pairs } }) =>
    half.map((h, k) => {
      const pieces = Math.min(pairs[k], area / (lag[k] * lag[k]), MOST_PIECES);
      return Math.sqrt(Math.max(1, pieces)) / Math.max(h, 1e-12 * rms * rms);
    }),
  );
  const column = (of: (one: Shown, k: number) => number): Float64Array =>
    Float64Array.from(shown.flatMap((one, s) => Array.from(weights[s], (weight, k) => weight * of(one, k))));
  const solved = nonNegativeLeastSquares(
    [column(({ white }) => white), ...candidates.map((_, c) => column(({ expected }, k) => expected[c][k]))],
    column(({ variogram }, k) => variogram.half[k]),
  );
  const terms = candidates.flatMap((candidate, c): NoiseTerm[] =>
    solved[c + 1] > 0 ? [{ ...candidate, variance: solved[c + 1] }] : [],
  );
  return { ...common, white: solved[0], terms };
}

function middleOf(places: Float64Array): Vec3 {
  const sum = [0, 0, 0];
  for (let i = 0; i < places.length; i++) sum[i % 3] += places[i];
  const n = places.length / 3;
  return [sum[0] / n, sum[1] / n, sum[2] / n];
}

function ofPoints(
  sample: SurfaceSample,
  candidates: readonly Candidate[],
  shortest: number,
  longest: number,
): Shown | undefined {
  const variogram = variogramOf(sample, shortest, longest);
  if (variogram.lag.length < 3) return undefined;
  const expectation = new Expectation(sample, variogram);
  return {
    variogram,
    white: 1,
    expected: candidates.map(({ kernel, length }) => expectation.of((d) => KERNELS[kernel](d / length))),
  };
}

function ofCells(
  sample: CellSample,
  candidates: readonly Candidate[],
  shortest: number,
  longest: number,
  side: number,
): Shown | undefined {
  if (sample.spread < 40 || !(longest > 1.5 * shortest)) return undefined;
  const variogram = variogramOf(sample, shortest, longest);
  if (variogram.lag.length < 3) return undefined;
  const expectation = new Expectation(sample, variogram);
  return {
    variogram,
    white: sample.inverse,
    expected: candidates.map(({ kernel, length }) => {
      const alike = betweenCells((d) => KERNELS[kernel](d / length), side, longest);
      return expectation.of(alike, alike(0));
    }),
  };
}

/** Distances of the table, and how far apart two points of squares of side 1 lie beside their middles, along and across. */
const STEPS = 96;
const OFFSETS: readonly (readonly [number, number])[] = [-0.75, -0.25, 0.25, 0.75].flatMap((x) =>
  [-0.75, -0.25, 0.25, 0.75].map((y) => [x, y] as const),
);
/** The difference of two uniform numbers is distributed as a triangle. */
const shareOf = ([x, y]: readonly [number, number]): number => ((1 - Math.abs(x)) * (1 - Math.abs(y))) / 4;

/** Covariance of the means over two cells by the distance of their middles, mm. */
function betweenCells(alike: (d: number) => number, side: number, longest: number): (d: number) => number {
  const perStep = STEPS / (1.5 * longest);
  const table = Float64Array.from({ length: STEPS + 2 }, (_, k) => {
    let sum = 0;
    for (const offset of OFFSETS)
      sum += shareOf(offset) * alike(Math.hypot(k / perStep + offset[0] * side, offset[1] * side));
    return sum;
  });
  return (d) => {
    const x = d * perStep;
    const k = x | 0;
    return k > STEPS ? 0 : table[k] + (x - k) * (table[k + 1] - table[k]);
  };
}
