import type { FeatureKind } from '../../../feature/feature.js';
import type { Vec3 } from '../../../math/vec3.js';
import { cellOf, gridFor } from './grid.js';
import { type Cell, halve, momentsOf } from './halves.js';
import { lay, layingFor, localPoints } from './laying.js';
import type { PatchSource } from './patch-source.js';
import { RUN, runStarts, shuffle, spread } from './sample.js';
import { sumByCell } from './sums.js';

/** Points of a fit summed over small pieces of its surface: all that an estimate of correlated noise needs. */
export interface Patches {
  /** Number of patches, G. */
  readonly size: number;
  /** Number of parameters, m. */
  readonly parameters: number;
  /** Points in each patch. */
  readonly count: Float64Array;
  /** Mean of the residuals over each patch, mm. */
  readonly mean: Float64Array;
  /** Mean gradient of the signed distance over each patch, G×m. */
  readonly gradient: Float64Array;
  /** Sum of the outer products of the gradients over all points of the fit, m×m. */
  readonly information: Float64Array;
  /** The part of it that lies inside the patches, about their mean gradients. */
  readonly informationInside: Float64Array;
  /** Points of the fit, of which at most 16,384 are summed. */
  readonly points: number;
  /** The parts (at most four) each patch is made of. */
  readonly parts: readonly (readonly Part[])[];
  /** The cells each patch is made of. */
  readonly cells: readonly (readonly CellOfPatch[])[];
  /** Whether the points lie along a curve, not over a surface. */
  readonly isCurve: boolean;
  /** By level from cells on: distances between two points of one unit. */
  readonly within: readonly Distances[];
  /**
   * How many units there are at each level: points (those summed over), cells, half parts, parts, halves of patches, patches. Each is
   * made of the ones before.
   */
  readonly units: readonly number[];
  /** Over all units of each level: sum of (sum of residuals)²/count, mm². The first is the sum of squares. */
  readonly squares: readonly number[];
  /** The feature's longest extent along u, v or w, mm. */
  readonly span: number;
}

/** How far apart two points are, taken at random: distances, mm, and the share of the pairs that are so far apart. */
export interface Distances {
  readonly distance: Float64Array;
  readonly weight: Float64Array;
}

export interface CellOfPatch {
  /** Of its points, from the feature's `at`, mm. */
  readonly middle: Vec3;
  /** Share of the patch's points. */
  readonly share: number;
}

/** A piece of a patch, in the feature's axes u, v, w. */
export interface Part {
  /** From the feature's `at`, mm. */
  readonly middle: Vec3;
  /** Share of the patch's points. */
  readonly share: number;
  /** Covariance of its points' places: uu, vv, ww, uv, uw, vw, mm². */
  readonly spread: readonly number[];
}

/**
 * Points summed over. Correlated noise is as plain in these as in millions; what more points would add is the averaging of
 * white noise, which is known without looking.
 */
const MOST_POINTS = 1 << 14;
/** Points looked at for gradients, cell size and distances. They vary slowly over a patch: a sample carries them. */
const SAMPLE = MOST_POINTS / RUN;
/** Cells that hold points, for each patch wanted. */
const CELLS = 16;
const CURVES: ReadonlySet<FeatureKind> = new Set(['circle', 'line', 'slot', 'ellipse']);
/** Place of the parts among the levels. */
export const PARTS = 3;
/** Place of the patches among the levels: the last. */
export const WHOLE = 5;
/** Pairs of sampled points that distances are told by, at most so many with one point; and how finely the distances are kept apart. */
const PAIRS = 1 << 13;
const MOST_BEFORE = 16;
const BINS = 64;
/** Least side of a cell, in rms residuals. */
const WIDE = 4;

/**
 * Cut the points of a fit into at most `most` patches of about equal area and sum over each. One pass finds each point's cell
 * in a grid along the feature's axes; the cells that hold points are then halved along their longest side until they are
 * patches. Works on any surface, with any holes, because it asks nothing of it.
 */
export function gatherPatches(source: PatchSource, most: number): Patches {
  const { residuals, parameters: m } = source;
  const total = residuals.length;
  const n = Math.min(total, MOST_POINTS);
  const runs = n < total ? runStarts(total, n / RUN) : undefined;
  // Of what is summed anyway: a point read alone costs as much as its run.
  const sample = shuffle(runs?.slice() ?? spread(total, Math.min(total, SAMPLE)));
  const local = localPoints(source, sample);
  const laying = layingFor(source.kind, local);
  lay(local, laying, source, sample);
  const grid = gridFor(local, CELLS * most, laying.isRough ? WIDE * roughness(source, sample) : 0);
  const cells = grid.nu * grid.nv * grid.nw;
  const count = new Float64Array(cells);
  const sum = new Float64Array(cells);
  const place = new Float64Array(3 * cells);
  const squares = sumByCell(source, grid, laying, runs, { count, sum, place });

  const occupied: Cell[] = [];
  for (let c = 0; c < cells; c++) {
    if (count[c] === 0) continue;
    const iv = Math.floor(c / grid.nu) % grid.nv;
    occupied.push({ c, at: [c % grid.nu, iv, Math.floor(c / (grid.nu * grid.nv))], weight: count[c] });
  }
  // A cell cut by an edge counts by its points, a dense one no more than others: halves are then equal in area.
  const typical = n / occupied.length;
  for (const cell of occupied) cell.weight = Math.min(cell.weight, typical);

  const groups = halve(occupied, most);
  const size = groups.length;
  const patchOf = new Int32Array(cells);
  // By level from cells to halves.
  const unitOf = [Int32Array.from({ length: cells }, (_, c) => c), ...[2, 3, 4].map(() => new Int32Array(cells))];
  const units = [n, occupied.length, 0, 0, 0, size];
  const levels = [squares, 0, 0, 0, 0, 0];
  for (const { c } of occupied) levels[1] += (sum[c] * sum[c]) / count[c];
  const patchCount = new Float64Array(size);
  const mean = new Float64Array(size);
  const parts: Part[][] = [];
  const cellsOf: CellOfPatch[][] = [];
  const add = (level: number, unit: readonly Cell[]): void => {
    let unitSum = 0;
    let unitCount = 0;
    for (const { c } of unit) {
      unitOf[level - 1][c] = units[level];
      unitSum += sum[c];
      unitCount += count[c];
    }
    levels[level] += (unitSum * unitSum) / unitCount;
    units[level]++;
  };
  groups.forEach((group, g) => {
    for (const { c } of group) {
      patchOf[c] = g;
      mean[g] += sum[c];
      patchCount[g] += count[c];
    }
    levels[WHOLE] += (mean[g] * mean[g]) / patchCount[g];
    mean[g] /= patchCount[g];
    const halves = halve(group, 2);
    const quarters = halves.flatMap((half) => halve(half, 2));
    for (const half of halves) add(4, half);
    for (const quarter of quarters) {
      add(PARTS, quarter);
      for (const eighth of halve(quarter, 2)) add(2, eighth);
    }
    cellsOf.push(
      group.map(({ c }) => ({
        middle: [place[3 * c] / count[c], place[3 * c + 1] / count[c], place[3 * c + 2] / count[c]],
        share: count[c] / patchCount[g],
      })),
    );
    parts.push(
      quarters.map((quarter) => {
        const { middle, spread, count: c } = momentsOf(quarter, count, place);
        return { middle, spread, share: c / patchCount[g] };
      }),
    );
  });

  const gradient = new Float64Array(size * m);
  const information = new Float64Array(m * m);
  const seen = new Float64Array(size);
  const row = new Float64Array(m);
  const cellOfSample = new Int32Array(sample.length);
  for (let s = 0; s < sample.length; s++) {
    source.gradient(sample[s], row);
    cellOfSample[s] = cellOf(local, s, grid);
    const g = patchOf[cellOfSample[s]];
    seen[g]++;
    for (let a = 0; a < m; a++) {
      gradient[g * m + a] += row[a];
      for (let b = 0; b <= a; b++) information[a * m + b] += row[a] * row[b];
    }
  }
  for (let g = 0; g < size; g++) for (let a = 0; a < m; a++) gradient[g * m + a] /= seen[g] || 1;
  const informationInside = information.slice();
  for (let a = 0; a < m; a++) {
    for (let b = 0; b <= a; b++) {
      for (let g = 0; g < size; g++)
        informationInside[a * m + b] -= seen[g] * gradient[g * m + a] * gradient[g * m + b];
      for (const all of [information, informationInside]) {
        all[a * m + b] *= total / sample.length;
        all[b * m + a] = all[a * m + b];
      }
    }
  }

  return {
    size,
    parameters: m,
    count: patchCount,
    mean,
    gradient,
    information,
    informationInside,
    points: total,
    parts,
    cells: cellsOf,
    isCurve: CURVES.has(source.kind),
    within: distancesWithin(local, cellOfSample, [...unitOf, patchOf], [cells, ...units.slice(2)]),
    units,
    squares: levels,
    span: grid.span,
  };
}

/** Root mean square of the sampled residuals, mm. */
function roughness({ residuals }: PatchSource, sample: Uint32Array): number {
  let sum = 0;
  for (const i of sample) sum += residuals[i] ** 2;
  return Math.sqrt(sum / sample.length);
}

/**
 * By level, distances between points of one unit: each sampled point and some before it. Empty where no unit holds two sampled points.
 */
function distancesWithin(
  local: Float64Array,
  cellOfSample: Int32Array,
  unitOf: readonly Int32Array[],
  units: readonly number[],
): Distances[] {
  const n = local.length / 3;
  const most = Math.min(MOST_BEFORE, Math.ceil(PAIRS / n));
  const before = new Int32Array(n);
  const apart = new Float64Array(most * n);
  return unitOf.map((own, level) => {
    const last = new Int32Array(units[level]).fill(-1);
    let pairs = 0;
    let longest = 0;
    for (let s = 0; s < n; s++) {
      const unit = own[cellOfSample[s]];
      let t = last[unit];
      before[s] = t;
      last[unit] = s;
      for (let k = 0; k < most && t >= 0; k++) {
        const u = local[3 * s] - local[3 * t];
        const v = local[3 * s + 1] - local[3 * t + 1];
        const w = local[3 * s + 2] - local[3 * t + 2];
        const d = Math.sqrt(u * u + v * v + w * w);
        if (d > longest) longest = d;
        apart[pairs++] = d;
        t = before[t];
      }
    }
    return binned(apart, pairs, longest);
  });
}

function binned(apart: Float64Array, pairs: number, longest: number): Distances {
  const distance = new Float64Array(BINS);
  const weight = new Float64Array(BINS);
  const perBin = longest > 0 ? (BINS - 1) / longest : 0;
  for (let p = 0; p < pairs; p++) {
    const b = (apart[p] * perBin) | 0;
    distance[b] += apart[p];
    weight[b]++;
  }
  let bins = 0;
  for (let b = 0; b < BINS; b++) {
    if (weight[b] === 0) continue;
    distance[bins] = distance[b] / weight[b];
    weight[bins++] = weight[b] / pairs;
  }
  return { distance: distance.slice(0, bins), weight: weight.slice(0, bins) };
}
