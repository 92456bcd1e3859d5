import type { FeatureKind } from '../../feature/feature.js';
import { incompleteBeta } from '../../math/distributions.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import type { NoiseNear } from '../../noise/noise-near.js';
import { bowTerms, valuesAt } from './bow-terms.js';
import { dot, orthonormalTerms, sharesOf } from './cell-terms.js';
import { type Cells, cellsOf, sumOver } from './cells.js';
import type { Chart } from './chart.js';
import { explainedBy } from './explained.js';

/** A surface that is bent more, or less, than its feature. */
export interface Bow {
  readonly cells: Cells;
  /** Of each second-order term of {@link bowTerms}, mm a unit of it. */
  readonly amounts: readonly number[];
  /** From its lowest to its highest place, beside the fitted feature, mm. */
  readonly height: number;
  /** How far the region reaches along the direction it is bent in most, mm. */
  readonly over: number;
  /** How many times what noise explains, root mean square over the terms. */
  readonly times: number;
}

const CELLS = 240;
const POINTS_EACH = 6;
/** Noise explains a bow that it gives so often. */
const CHANCE = 1.5e-3;

/**
 * What second-order terms of the residuals hold beyond noise: beside its variance in them as the noise of the scan gives it, where that is
 * known, and beside what terms of the next orders hold.
 */
export function bowOf(
  kind: FeatureKind,
  chart: Chart,
  residual: Float64Array,
  noise: NoiseNear | undefined,
): Bow | undefined {
  const functions = bowTerms(kind);
  if (!functions || chart.isCurve) return undefined;
  const cells = cellsOf(chart, Math.min(CELLS, chart.points.length / POINTS_EACH));
  const values = (terms: typeof functions.sought): Float64Array[] =>
    valuesAt(terms, cells, cells.x, cells.y, chart.radius);
  const columns = [...values(functions.taken), ...values(functions.sought)];
  const terms = orthonormalTerms(cells, [...columns, ...values(functions.beside)]);
  const isOwn = (term: Float64Array): boolean => dot(term, term) > 0;
  const from = functions.taken.length;
  const sought = terms.slice(from, columns.length).filter(isOwn);
  const beside = terms.slice(columns.length).filter(isOwn);
  const k = sought.length;
  if (k === 0 || beside.length < 3) return undefined;
  const sum = sumOver(cells, residual);
  const shares = sharesOf(sought, cells, sum);
  const beyond = besideVariance(sharesOf(beside, cells, sum));
  const explained = new Float64Array(k * k);
  if (noise) explained.set(explainedBy(noise, sought, cells));
  for (let a = 0; a < k; a++) explained[a * (k + 1)] = Math.max(explained[a * (k + 1)], beyond);
  const solved = scaledCholesky(explained, k)?.solve(shares);
  if (!solved) return undefined;
  const square = shares.reduce((all, share, a) => all + share * solved[a], 0) / k;
  const chance = tail(square, k, Math.max(beside.length / 2, Math.min(noise?.degreesOfFreedom ?? 0, 1000)));
  if (!(chance < CHANCE)) return undefined;
  const amounts = amountsOf(
    cells,
    columns.filter((_, c) => isOwn(terms[c])),
    sum,
  );
  if (!amounts) return undefined;
  let next = 0;
  const all = terms.slice(0, columns.length).map((term) => (isOwn(term) ? amounts[next++] : 0));
  return {
    cells,
    amounts: all.slice(from),
    height: heightOf(sought, shares, cells),
    over: extentAlong(bentAlong(kind, all.slice(from)), cells),
    times: Math.sqrt(square),
  };
}

/**
 * What noise gives second-order terms, from what the next orders hold, the lower half of them first: noise alike over lengths holds the more
 * the lower the order, and as much more again in the second order.
 */
function besideVariance(shares: readonly number[]): number {
  const half = Math.ceil(0.45 * shares.length);
  const mean = (part: readonly number[]): number => part.reduce((all, s) => all + s * s, 0) / part.length;
  const [low, high] = [mean(shares.slice(0, half)), mean(shares.slice(half))];
  return Math.max(mean(shares), low * Math.sqrt(low / high));
}

/** Of Fisher's distribution beyond f. */
const tail = (f: number, k: number, degrees: number): number =>
  incompleteBeta(degrees / (degrees + k * f), degrees / 2, k / 2);

/** Of functions over the cells, by least squares over the points. */
function amountsOf({ points }: Cells, columns: readonly Float64Array[], sum: Float64Array): Float64Array | undefined {
  const m = columns.length;
  const weighed = columns.map((column) => column.map((value, c) => value * points[c]));
  const normal = Float64Array.from({ length: m * m }, (_, at) => dot(weighed[Math.floor(at / m)], columns[at % m]));
  return scaledCholesky(normal, m)?.solve(columns.map((column) => dot(column, sum)));
}

/** Direction on the chart, radians, of the largest second derivative. */
const bentAlong = (kind: FeatureKind, [xx, xy, yy]: readonly number[]): number => {
  if (kind === 'sphere') return Math.atan2(xy, xx) / 2;
  if (kind !== 'plane') return Math.PI / 2;
  const turn = Math.atan2(xy, xx - yy) / 2;
  return xx + yy < 0 ? turn + Math.PI / 2 : turn;
};

function extentAlong(turn: number, { x, y, step }: Cells): number {
  let [low, high] = [Infinity, -Infinity];
  for (let c = 0; c < x.length; c++) {
    const along = Math.cos(turn) * x[c] + Math.sin(turn) * y[c];
    low = Math.min(low, along);
    high = Math.max(high, along);
  }
  return high - low + step;
}

function heightOf(terms: readonly Float64Array[], shares: readonly number[], { count, points }: Cells): number {
  let [low, high] = [Infinity, -Infinity];
  for (let c = 0; c < count; c++) {
    let height = 0;
    for (let a = 0; a < terms.length; a++) height += shares[a] * terms[a][c];
    height /= Math.sqrt(points[c]);
    low = Math.min(low, height);
    high = Math.max(high, height);
  }
  return high - low;
}
