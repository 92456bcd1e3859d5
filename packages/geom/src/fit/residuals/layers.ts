import { nthSmallest } from '../../math/nth-smallest.js';
import { type Cells, cellsOf, sumOver } from './cells.js';
import type { Chart } from './chart.js';
import { type Histogram, type TwoLevels, twoLevels } from './two-levels.js';

/** Residuals at two levels in the same places. */
export interface Layers {
  readonly levels: TwoLevels;
  /** For each point of the chart: whether it lies where there are two, and how far it is from the middle of the residuals about it, mm. */
  readonly isTwofold: Uint8Array;
  readonly deviation: Float64Array;
}

/** Points in a cell about. */
const CELLS = 2048;
const POINTS_EACH = 7;
/** Blocks on a side, and the windows of blocks that are looked at, by their side. */
const BLOCKS = 12;
const WINDOWS = [12, 8, 6, 4, 3];
const BINS = 96;
/** Windows carried on to a mixture of two levels. */
const CARRIED_ON = 6;
const LEAST_POINTS = 60;
/** Evidence against one normal distribution below which two levels are not looked for. */
const UNLIKE = 10;

/**
 * Two layers of one surface, such as passes that overlap and stand apart: the residuals about their own neighborhood's mean, in windows of
 * many sizes, taken for two levels against one. Neither shape nor a step has two levels in the same place.
 */
export function twoLayers(chart: Chart, residual: Float64Array): Layers | undefined {
  const n = chart.points.length;
  const cells = cellsOf(chart, Math.min(CELLS, n / POINTS_EACH));
  const deviation = deviationsFrom(cells, residual);
  const sorted = deviation.slice();
  const reach =
    1.2 * Math.max(-nthSmallest(sorted, Math.floor(0.005 * n)), nthSmallest(sorted, Math.floor(0.995 * (n - 1))));
  if (!(reach > 0)) return undefined;
  const blockOf = blocksOf(chart);
  const bins = { low: -reach * (1 - 1 / BINS), width: (2 * reach) / BINS };
  const counts = new Float64Array(BLOCKS * BLOCKS * BINS);
  for (let i = 0; i < n; i++) {
    const bin = Math.floor((deviation[i] + reach) / bins.width);
    counts[blockOf[i] * BINS + Math.max(0, Math.min(BINS - 1, bin))]++;
  }
  const likely = windows(chart.isCurve)
    .map((window) => {
      const histogram = { ...bins, counts: within(window, counts) };
      return { histogram, unlike: unlikeNormal(histogram) };
    })
    .filter(({ unlike }) => unlike > UNLIKE)
    .sort((a, b) => b.unlike - a.unlike)
    .slice(0, CARRIED_ON);
  let best: TwoLevels | undefined;
  for (const { histogram } of likely) {
    const levels = twoLevels(histogram);
    if (levels && levels.gain > (best?.gain ?? 0)) best = levels;
  }
  if (!best) return undefined;
  const gains = gainsOf(bins, best);
  const isTwofoldBlock = Uint8Array.from({ length: BLOCKS * BLOCKS }, (_, b) => {
    let gain = 0;
    for (let k = 0; k < BINS; k++) gain += counts[b * BINS + k] * gains[k];
    return gain > 0 ? 1 : 0;
  });
  return { levels: best, isTwofold: Uint8Array.from(blockOf, (b) => isTwofoldBlock[b]), deviation };
}

/** Each point's residual less the mean about it: of its cell and those around, the near ones by more. */
function deviationsFrom(cells: Cells, residual: Float64Array): Float64Array {
  const { chart, columns, rows, place, points, cellOf } = cells;
  const sum = sumOver(cells, residual);
  const sums = new Float64Array(columns * rows);
  const held = new Float64Array(columns * rows);
  for (let c = 0; c < cells.count; c++) {
    sums[place[c]] = sum[c];
    held[place[c]] = points[c];
  }
  const s = smoothed(sums, columns, rows);
  const w = smoothed(held, columns, rows);
  return Float64Array.from(cellOf, (c, i) => residual[chart.points[i]] - s[place[c]] / w[place[c]]);
}

/** 1, 2, 1 along both sides of a grid. */
function smoothed(grid: Float64Array, columns: number, rows: number): Float64Array {
  const along = (from: Float64Array, count: number, stride: number): Float64Array =>
    from.map((x, g) => {
      const at = Math.floor(g / stride) % count;
      return 2 * x + (at > 0 ? from[g - stride] : 0) + (at < count - 1 ? from[g + stride] : 0);
    });
  return along(along(grid, columns, 1), rows, columns);
}

function blocksOf({ x, y, isCurve }: Chart): Uint16Array {
  const number = (values: Float64Array): ((value: number) => number) => {
    let [low, high] = [Infinity, -Infinity];
    for (const value of values) {
      low = Math.min(low, value);
      high = Math.max(high, value);
    }
    const scale = high > low ? BLOCKS / (high - low) : 0;
    return (value) => Math.min(BLOCKS - 1, Math.floor((value - low) * scale));
  };
  const [across, up] = [number(x), number(y)];
  return Uint16Array.from(x, (value, i) => across(value) + (isCurve ? 0 : BLOCKS * up(y[i])));
}

interface Window {
  readonly at: readonly [number, number];
  readonly size: readonly [number, number];
}

function windows(isCurve: boolean): Window[] {
  return WINDOWS.flatMap((side) => {
    const step = Math.max(1, side >> 2);
    const starts = Array.from({ length: Math.floor((BLOCKS - side) / step) + 1 }, (_, k) => k * step);
    if (isCurve) return starts.map((a): Window => ({ at: [a, 0], size: [side, 1] }));
    return starts.flatMap((a) => starts.map((b): Window => ({ at: [a, b], size: [side, side] })));
  });
}

function within({ at, size }: Window, counts: Float64Array): Float64Array {
  const sum = new Float64Array(BINS);
  for (let a = at[0]; a < at[0] + size[0]; a++) {
    for (let b = at[1]; b < at[1] + size[1]; b++) {
      const from = (a + BLOCKS * b) * BINS;
      for (let k = 0; k < BINS; k++) sum[k] += counts[from + k];
    }
  }
  return sum;
}

/** Evidence of skewness, and of tails shorter than normal, by moments (Jarque & Bera, Economics Letters 6 (1980) 255). */
function unlikeNormal({ counts, low, width }: Histogram): number {
  let [n, s1, s2, s3, s4] = [0, 0, 0, 0, 0];
  for (let k = 0; k < counts.length; k++) {
    const z = low + k * width;
    const c = counts[k];
    n += c;
    s1 += c * z;
    s2 += c * z * z;
    s3 += c * z * z * z;
    s4 += c * z * z * z * z;
  }
  if (n < LEAST_POINTS) return 0;
  const m = s1 / n;
  const variance = s2 / n - m * m;
  if (!(variance > 0)) return 0;
  const skew = (s3 / n - 3 * m * (s2 / n) + 2 * m ** 2 * m) / variance / Math.sqrt(variance);
  const tails = (s4 / n - 4 * m * (s3 / n) + 6 * m * m * (s2 / n) - 3 * (m * m) ** 2) / variance ** 2 - 3;
  return n * ((skew * skew) / 6 + Math.min(0, tails) ** 2 / 24);
}

/** Of a residual in each bin: logarithm of how much likelier it is at two levels than at one between them. */
function gainsOf({ low, width }: Omit<Histogram, 'counts'>, { lower, upper, sigma, share }: TwoLevels): Float64Array {
  const middle = share * upper + (1 - share) * lower;
  return Float64Array.from({ length: BINS }, (_, k) => {
    const at = (level: number): number => Math.exp(-0.5 * Math.min(100, ((low + k * width - level) / sigma) ** 2));
    return Math.log((share * at(upper) + (1 - share) * at(lower)) / at(middle));
  });
}
