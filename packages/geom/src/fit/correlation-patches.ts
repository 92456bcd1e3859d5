import type { FeatureKind } from '../feature/feature.js';
import { seededRandom } from '../math/random.js';
import { dot, type Vec3 } from '../math/vec3.js';

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
  /** The parts (at most {@link PARTS}) each patch is made of. */
  readonly parts: readonly (readonly Part[])[];
  /** Distances between two points of one cell, and of one part, taken at random: evenly spaced quantiles, mm. */
  readonly within: { readonly cell: Float64Array; readonly part: Float64Array };
  /** How many there are of points (those summed over), cells, parts and patches: each made of the ones before. */
  readonly units: readonly number[];
  /** Over all points, cells, parts, patches: sum of (sum of residuals)²/count, mm². The first is the sum of squares. */
  readonly squares: readonly number[];
  /** The feature's longest extent along u, v or w, mm. */
  readonly span: number;
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

export interface PatchSource {
  readonly kind: FeatureKind;
  readonly positions: Float64Array;
  readonly used?: Uint32Array;
  readonly residuals: Float64Array;
  readonly parameters: number;
  gradient(i: number, out: Float64Array): void;
  readonly at: Vec3;
  readonly axes: readonly [Vec3, Vec3, Vec3];
}

/**
 * Points summed over. Correlated noise is as plain in these as in millions; what more points would add is the averaging of
 * white noise, which is known without looking.
 */
const MOST_POINTS = 1 << 17;
/** They are taken in runs of this many: memory is read by the line. */
const RUN = 16;
/** Points looked at for gradients, cell size and distances. They vary slowly over a patch: a sample carries them. */
const SAMPLE = 4096;
/** Cells that hold points, for each patch wanted. */
const CELLS = 16;
/** Parts of a patch. */
export const PARTS = 4;
const QUANTILES = 16;
const MOST_CELLS = 1 << 17;
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
  const sample = shuffle(spread(total, Math.min(total, SAMPLE)));
  const local = localPoints(source, sample);
  const laying = layingFor(source.kind, local);
  lay(local, laying);
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
  const partOf = new Int32Array(cells);
  const patchCount = new Float64Array(size);
  const mean = new Float64Array(size);
  const parts: Part[][] = [];
  const levels = [squares, 0, 0, 0];
  let partTotal = 0;
  groups.forEach((group, g) => {
    const own: { middle: Vec3; count: number; spread: number[] }[] = [];
    for (const part of halve(group, PARTS)) {
      let partSum = 0;
      for (const { c } of part) {
        patchOf[c] = g;
        partOf[c] = partTotal;
        partSum += sum[c];
        levels[1] += (sum[c] * sum[c]) / count[c];
      }
      const { middle, spread, count: partCount } = momentsOf(part, count, place);
      own.push({ middle, spread, count: partCount });
      levels[2] += (partSum * partSum) / partCount;
      patchCount[g] += partCount;
      mean[g] += partSum;
      partTotal++;
    }
    levels[3] += (mean[g] * mean[g]) / patchCount[g];
    mean[g] /= patchCount[g];
    parts.push(own.map(({ middle, spread, count: c }) => ({ middle, spread, share: c / patchCount[g] })));
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
  for (let a = 0; a < m; a++) {
    for (let b = 0; b <= a; b++) {
      information[a * m + b] *= total / sample.length;
      information[b * m + a] = information[a * m + b];
    }
  }
  for (let g = 0; g < size; g++) for (let a = 0; a < m; a++) gradient[g * m + a] /= seen[g] || 1;

  return {
    size,
    parameters: m,
    count: patchCount,
    mean,
    gradient,
    information,
    parts,
    within: {
      cell: pairDistances(local, (s) => cellOfSample[s], cells),
      part: pairDistances(local, (s) => partOf[cellOfSample[s]], partTotal),
    },
    units: [n, occupied.length, partTotal, size],
    squares: levels,
    span: grid.span,
  };
}

/** Middle and covariance of the points of some cells, each taken for its own middle. */
function momentsOf(
  part: readonly Cell[],
  count: Float64Array,
  place: Float64Array,
): { middle: Vec3; spread: number[]; count: number } {
  let total = 0;
  const middle: [number, number, number] = [0, 0, 0];
  for (const { c } of part) {
    total += count[c];
    for (let a = 0; a < 3; a++) middle[a] += place[3 * c + a];
  }
  for (let a = 0; a < 3; a++) middle[a] /= total;
  const spread = new Array<number>(6).fill(0);
  for (const { c } of part) {
    const weight = count[c] / total;
    const u = place[3 * c] / count[c] - middle[0];
    const v = place[3 * c + 1] / count[c] - middle[1];
    const w = place[3 * c + 2] / count[c] - middle[2];
    [u * u, v * v, w * w, u * v, u * w, v * w].forEach((x, k) => {
      spread[k] += weight * x;
    });
  }
  return { middle, spread, count: total };
}

/** `size` of the numbers 0 … n−1, ascending and evenly spread, with steps uneven enough not to fall in with scan lines. */
function spread(n: number, size: number): Uint32Array {
  const spread = new Uint32Array(size);
  const step = n / size;
  let turn = 0;
  for (let s = 0; s < size; s++) {
    spread[s] = (s + turn) * step;
    turn += GOLDEN;
    if (turn >= 1) turn -= 1;
  }
  return spread;
}
const GOLDEN = 0.6180339887498949;

/** Where runs start that do not overlap. */
const runStarts = (n: number, runs: number): Uint32Array =>
  Uint32Array.from({ length: runs }, (_, s) => Math.floor((s * (n - RUN)) / (runs - 1)));

/** Random order: successive points are no neighbors. */
function shuffle(sample: Uint32Array): Uint32Array {
  const random = seededRandom(sample.length);
  for (let s = sample.length - 1; s > 0; s--) {
    const t = random.below(s + 1);
    const held = sample[s];
    sample[s] = sample[t];
    sample[t] = held;
  }
  return sample;
}

/**
 * Which way a point is laid onto its feature before it is put in a cell, u, v, w and the distance from the axis or center that is
 * taken out. Without it the noise itself would sort the points into cells.
 */
interface Laying {
  /** 1 or 0 for u and v together, and for w: whether the coordinate is kept. */
  readonly across: number;
  readonly along: number;
  /** Whether the distance in u and v, or in u, v and w, is made the same for all points: this one, mm. Zero: it is kept. */
  readonly axial: number;
  readonly central: number;
  /** Whether noise still moves points about: cells must then be wide beside it. */
  readonly isRough: boolean;
}

/** A cone keeps its points' distances from the axis, and slots and ellipses theirs: there cells are wide beside the noise. */
function layingFor(kind: FeatureKind, local: Float64Array): Laying {
  let axial = 0;
  let central = 0;
  for (let p = 0; p < local.length; p += 3) {
    axial += Math.hypot(local[p], local[p + 1]);
    central += Math.hypot(local[p], local[p + 1], local[p + 2]);
  }
  axial /= local.length / 3;
  central /= local.length / 3;
  const as = { across: 1, along: 1, axial: 0, central: 0, isRough: false };
  switch (kind) {
    case 'plane':
      return { ...as, along: 0 };
    case 'slot':
    case 'ellipse':
      return { ...as, along: 0, isRough: true };
    case 'line':
      return { ...as, across: 0 };
    case 'circle':
      return { ...as, along: 0, axial };
    case 'cylinder':
      return { ...as, axial };
    case 'sphere':
      return { ...as, central };
    default:
      return { ...as, isRough: true };
  }
}

/** How many times the points are to be pushed out from the axis or center. */
function stretchOf({ axial, central }: Laying, u: number, v: number, w: number): number {
  if (axial > 0) return axial / (Math.sqrt(u * u + v * v) || axial);
  if (central > 0) return central / (Math.sqrt(u * u + v * v + w * w) || central);
  return 1;
}

/** Coordinates along u, v, w from `at`, mm. */
function localPoints(source: PatchSource, sample: Uint32Array): Float64Array {
  const { positions, used, at, axes } = source;
  const local = new Float64Array(3 * sample.length);
  for (let s = 0; s < sample.length; s++) {
    const p = 3 * (used ? used[sample[s]] : sample[s]);
    const x = positions[p] - at[0];
    const y = positions[p + 1] - at[1];
    const z = positions[p + 2] - at[2];
    for (let a = 0; a < 3; a++) local[3 * s + a] = x * axes[a][0] + y * axes[a][1] + z * axes[a][2];
  }
  return local;
}

function lay(local: Float64Array, laying: Laying): void {
  for (let p = 0; p < local.length; p += 3) {
    const stretch = stretchOf(laying, local[p], local[p + 1], local[p + 2]);
    local[p] *= laying.across * stretch;
    local[p + 1] *= laying.across * stretch;
    local[p + 2] *= laying.along * (laying.central > 0 ? stretch : 1);
  }
}

/** Cubes of side `step` from `corner`. */
interface Grid {
  readonly corner: Vec3;
  readonly step: number;
  readonly nu: number;
  readonly nv: number;
  readonly nw: number;
  /** Longest extent of the points, mm. */
  readonly span: number;
}

/** Root mean square of the sampled residuals, mm. */
function roughness({ residuals }: PatchSource, sample: Uint32Array): number {
  let sum = 0;
  for (const i of sample) sum += residuals[i] ** 2;
  return Math.sqrt(sum / sample.length);
}

/** The finest grid, of cells no smaller than `least`, that puts the sampled points in at most `wanted` of them. */
function gridFor(local: Float64Array, wanted: number, least: number): Grid {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let p = 0; p < local.length; p++) {
    const a = p % 3;
    if (local[p] < low[a]) low[a] = local[p];
    if (local[p] > high[a]) high[a] = local[p];
  }
  const span = Math.max(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  const gridOf = (step: number): Grid => ({
    corner: low,
    step,
    span,
    nu: Math.floor((high[0] - low[0]) / step) + 1,
    nv: Math.floor((high[1] - low[1]) / step) + 1,
    nw: Math.floor((high[2] - low[2]) / step) + 1,
  });
  if (!(span > 0)) return gridOf(1);
  let best = gridOf(span * 1.001);
  let coarse = span;
  let fine = span / 4096;
  for (let i = 0; i < 10; i++) {
    const step = Math.sqrt(coarse * fine);
    const grid = gridOf(step);
    if (step < least || grid.nu * grid.nv * grid.nw > MOST_CELLS || occupiedCells(local, grid) > wanted) {
      fine = step;
    } else {
      coarse = step;
      best = grid;
    }
  }
  return best;
}

function occupiedCells(local: Float64Array, grid: Grid): number {
  const seen = new Uint8Array(grid.nu * grid.nv * grid.nw);
  let occupied = 0;
  for (let s = 0; s < local.length / 3; s++) {
    const c = cellOf(local, s, grid);
    if (seen[c] === 0) {
      seen[c] = 1;
      occupied++;
    }
  }
  return occupied;
}

const clampIndex = (x: number, n: number): number => (x < 0 ? 0 : x >= n ? n - 1 : x | 0);

function cellOf(local: Float64Array, s: number, grid: Grid): number {
  const { corner, step, nu, nv, nw } = grid;
  const iu = clampIndex((local[3 * s] - corner[0]) / step, nu);
  const iv = clampIndex((local[3 * s + 1] - corner[1]) / step, nv);
  const iw = clampIndex((local[3 * s + 2] - corner[2]) / step, nw);
  return iu + nu * (iv + nv * iw);
}

/** By cell: points, sum of residuals, sum of places u v w. */
interface CellSums {
  readonly count: Float64Array;
  readonly sum: Float64Array;
  readonly place: Float64Array;
}

/** Count points and sum their residuals and places by cell: of the `runs`, or all. Returns the sum of squared residuals. */
function sumByCell(
  source: PatchSource,
  grid: Grid,
  laying: Laying,
  runs: Uint32Array | undefined,
  { count, sum, place }: CellSums,
): number {
  const { positions, used, residuals, at, axes } = source;
  const scale = 1 / grid.step;
  const [[ux, uy, uz], [vx, vy, vz], [wx, wy, wz]] = axes;
  const u0 = dot(at, axes[0]);
  const v0 = dot(at, axes[1]);
  const w0 = dot(at, axes[2]);
  const [lowU, lowV, lowW] = grid.corner;
  const { across, along, central } = laying;
  const { nu, nv, nw } = grid;
  let squares = 0;
  const turns = runs ? runs.length : 1;
  for (let t = 0; t < turns; t++) {
    const from = runs ? runs[t] : 0;
    const to = runs ? from + RUN : residuals.length;
    for (let k = from; k < to; k++) {
      const p = 3 * (used ? used[k] : k);
      const x = positions[p];
      const y = positions[p + 1];
      const z = positions[p + 2];
      let u = x * ux + y * uy + z * uz - u0;
      let v = x * vx + y * vy + z * vz - v0;
      let w = x * wx + y * wy + z * wz - w0;
      const stretch = stretchOf(laying, u, v, w);
      u *= across * stretch;
      v *= across * stretch;
      w *= along * (central > 0 ? stretch : 1);
      const iu = clampIndex((u - lowU) * scale, nu);
      const iv = clampIndex((v - lowV) * scale, nv);
      const iw = clampIndex((w - lowW) * scale, nw);
      const c = iu + nu * (iv + nv * iw);
      place[3 * c] += u;
      place[3 * c + 1] += v;
      place[3 * c + 2] += w;
      const r = residuals[k];
      count[c]++;
      sum[c] += r;
      squares += r * r;
    }
  }
  return squares;
}

interface Cell {
  /** Number of the cell in its grid. */
  readonly c: number;
  readonly at: Vec3;
  weight: number;
}

/** Halve cells across their longest side, and the halves again, into at most `most` groups of about equal weight. */
function halve(cells: Cell[], most: number): Cell[][] {
  if (cells.length <= 1 || most <= 1) return [cells];
  let axis = 0;
  let longest = -1;
  for (let a = 0; a < 3; a++) {
    let low = Infinity;
    let high = -Infinity;
    for (const { at } of cells) {
      if (at[a] < low) low = at[a];
      if (at[a] > high) high = at[a];
    }
    if (high - low > longest) {
      longest = high - low;
      axis = a;
    }
  }
  const order = cells.slice().sort((p, q) => p.at[axis] - q.at[axis] || p.c - q.c);
  let total = 0;
  for (const cell of order) total += cell.weight;
  const firstMost = most >> 1;
  const wanted = (total * firstMost) / most;
  let cut = 0;
  for (let had = 0; cut < order.length - 1 && (cut === 0 || had + order[cut].weight / 2 < wanted); cut++)
    had += order[cut].weight;
  return [...halve(order.slice(0, cut), firstMost), ...halve(order.slice(cut), most - firstMost)];
}

/** Quantiles of the distance between two points of one unit; empty where no unit holds two sampled points. */
function pairDistances(local: Float64Array, unitOf: (s: number) => number, units: number): Float64Array {
  const last = new Int32Array(units).fill(-1);
  const distances = new Float64Array(local.length / 3);
  let pairs = 0;
  for (let s = 0; s < local.length / 3; s++) {
    const unit = unitOf(s);
    const t = last[unit];
    if (t >= 0)
      distances[pairs++] = Math.hypot(
        local[3 * s] - local[3 * t],
        local[3 * s + 1] - local[3 * t + 1],
        local[3 * s + 2] - local[3 * t + 2],
      );
    last[unit] = s;
  }
  if (pairs === 0) return new Float64Array(0);
  const sorted = distances.subarray(0, pairs).sort();
  return Float64Array.from({ length: QUANTILES }, (_, q) => sorted[Math.floor(((q + 0.5) * pairs) / QUANTILES)]);
}
