import { dot, type Vec3 } from '../math/vec3.js';

/** Points of a fit summed over small pieces of its surface: all that an estimate of correlated noise needs. */
export interface Patches {
  /** Number of patches, G. */
  readonly size: number;
  /** Number of parameters, m. */
  readonly parameters: number;
  /** Points in each patch. */
  readonly count: Float64Array;
  /** Sum of the residuals in each patch, mm. */
  readonly sum: Float64Array;
  /** Middle of each patch along u, v, w from the feature's `at`, G×3, mm. */
  readonly center: Float64Array;
  /** Mean gradient of the signed distance over each patch, G×m. */
  readonly gradient: Float64Array;
  /** Sum of the outer products of the gradients over all points, m×m. */
  readonly information: Float64Array;
  /** Sum of squared residuals over all points, mm². */
  readonly squares: number;
}

export interface PatchSource {
  readonly positions: Float64Array;
  readonly used?: Uint32Array;
  readonly residuals: Float64Array;
  readonly parameters: number;
  gradient(i: number, out: Float64Array): void;
  readonly at: Vec3;
  readonly axes: readonly [Vec3, Vec3, Vec3];
}

/** Points looked at for the gradients and the size of the cells. They vary slowly: a sample carries them. */
const SAMPLE = 8192;
/** Cells a patch is put together from. */
const CELLS_A_PATCH = 8;

/**
 * Cut the points of a fit into at most `most` patches of equal area and sum over each. One pass over all points finds
 * each one's cell in a grid along the feature's axes; the cells that hold points are then halved along their longest side
 * until they are patches. Works on any surface, with any holes, because it asks nothing of it.
 */
export function gatherPatches(source: PatchSource, most: number): Patches {
  const { residuals, parameters: m } = source;
  const n = residuals.length;
  const sampled = Math.min(n, SAMPLE);
  const local = localPoints(source, sampled);
  const grid = gridFor(local, CELLS_A_PATCH * most);
  const cellCount = grid.nu * grid.nv * grid.nw;
  const count = new Float64Array(cellCount);
  const sum = new Float64Array(cellCount);
  const squares = sumByCell(source, grid, count, sum);

  const occupied: number[] = [];
  for (let c = 0; c < cellCount; c++) if (count[c] > 0) occupied.push(c);
  const groups = halve(occupied, grid, most);
  const patchOf = new Int32Array(cellCount).fill(-1);
  const size = groups.length;
  const patchCount = new Float64Array(size);
  const patchSum = new Float64Array(size);
  const center = new Float64Array(3 * size);
  groups.forEach((cells, g) => {
    for (const c of cells) {
      patchOf[c] = g;
      patchCount[g] += count[c];
      patchSum[g] += sum[c];
      const [iu, iv, iw] = cellIndices(c, grid);
      center[3 * g] += count[c] * (grid.u + (iu + 0.5) * grid.step);
      center[3 * g + 1] += count[c] * (grid.v + (iv + 0.5) * grid.step);
      center[3 * g + 2] += count[c] * (grid.w + (iw + 0.5) * grid.step);
    }
    for (let k = 0; k < 3; k++) center[3 * g + k] /= patchCount[g];
  });

  const gradient = new Float64Array(size * m);
  const information = new Float64Array(m * m);
  const seen = new Float64Array(size);
  const row = new Float64Array(m);
  for (let s = 0; s < sampled; s++) {
    const i = Math.floor((s * n) / sampled);
    source.gradient(i, row);
    const g = patchOf[cellOf(local[3 * s], local[3 * s + 1], local[3 * s + 2], grid)];
    seen[g]++;
    for (let a = 0; a < m; a++) {
      gradient[g * m + a] += row[a];
      for (let b = 0; b <= a; b++) information[a * m + b] += row[a] * row[b];
    }
  }
  for (let a = 0; a < m; a++) {
    for (let b = 0; b <= a; b++) {
      information[a * m + b] *= n / sampled;
      information[b * m + a] = information[a * m + b];
    }
  }
  for (let g = 0; g < size; g++) {
    // A patch the sample missed holds next to no points: it weighs nothing.
    for (let a = 0; a < m; a++) gradient[g * m + a] /= seen[g] || 1;
  }
  return { size, parameters: m, count: patchCount, sum: patchSum, center, gradient, information, squares };
}

/** Cubes of side `step` from the corner (u, v, w). */
interface Grid {
  readonly u: number;
  readonly v: number;
  readonly w: number;
  readonly step: number;
  readonly nu: number;
  readonly nv: number;
  readonly nw: number;
}

/** Coordinates along u, v, w from `at` of `sampled` points spread evenly over the order they come in. */
function localPoints(source: PatchSource, sampled: number): Float64Array {
  const { positions, used, at, axes } = source;
  const n = source.residuals.length;
  const local = new Float64Array(3 * sampled);
  for (let s = 0; s < sampled; s++) {
    const k = Math.floor((s * n) / sampled);
    const p = 3 * (used ? used[k] : k);
    for (let a = 0; a < 3; a++) {
      local[3 * s + a] =
        (positions[p] - at[0]) * axes[a][0] +
        (positions[p + 1] - at[1]) * axes[a][1] +
        (positions[p + 2] - at[2]) * axes[a][2];
    }
  }
  return local;
}

/** The grid whose number of cells that hold sampled points is nearest `wanted` from below. */
function gridFor(local: Float64Array, wanted: number): Grid {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let p = 0; p < local.length; p++) {
    const a = p % 3;
    if (local[p] < low[a]) low[a] = local[p];
    if (local[p] > high[a]) high[a] = local[p];
  }
  const span = Math.max(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  const gridOf = (step: number): Grid => ({
    u: low[0],
    v: low[1],
    w: low[2],
    step,
    nu: Math.floor((high[0] - low[0]) / step) + 1,
    nv: Math.floor((high[1] - low[1]) / step) + 1,
    nw: Math.floor((high[2] - low[2]) / step) + 1,
  });
  if (!(span > 0)) return gridOf(1);
  let best = gridOf(span * 1.001);
  let coarse = span;
  let fine = span / 4096;
  for (let i = 0; i < 12; i++) {
    const step = Math.sqrt(coarse * fine);
    const grid = gridOf(step);
    if (grid.nu * grid.nv * grid.nw > MOST_CELLS || occupiedCells(local, grid) > wanted) {
      fine = step;
    } else {
      coarse = step;
      best = grid;
    }
  }
  return best;
}

const MOST_CELLS = 1 << 17;

function occupiedCells(local: Float64Array, grid: Grid): number {
  const seen = new Uint8Array(grid.nu * grid.nv * grid.nw);
  let occupied = 0;
  for (let p = 0; p < local.length; p += 3) {
    const c = cellOf(local[p], local[p + 1], local[p + 2], grid);
    if (seen[c] === 0) {
      seen[c] = 1;
      occupied++;
    }
  }
  return occupied;
}

const clampIndex = (x: number, n: number): number => (x < 0 ? 0 : x >= n ? n - 1 : x | 0);

const cellOf = (u: number, v: number, w: number, grid: Grid): number =>
  clampIndex((u - grid.u) / grid.step, grid.nu) +
  grid.nu * (clampIndex((v - grid.v) / grid.step, grid.nv) + grid.nv * clampIndex((w - grid.w) / grid.step, grid.nw));

const cellIndices = (c: number, grid: Grid): Vec3 => [
  c % grid.nu,
  Math.floor(c / grid.nu) % grid.nv,
  Math.floor(c / (grid.nu * grid.nv)),
];

/** Count points and sum residuals by cell; returns the sum of squared residuals. The one pass over all points. */
function sumByCell(source: PatchSource, grid: Grid, count: Float64Array, sum: Float64Array): number {
  const { positions, used, residuals, at, axes } = source;
  const n = residuals.length;
  const scale = 1 / grid.step;
  const [u, v, w] = axes;
  const ux = u[0] * scale;
  const uy = u[1] * scale;
  const uz = u[2] * scale;
  const vx = v[0] * scale;
  const vy = v[1] * scale;
  const vz = v[2] * scale;
  const wx = w[0] * scale;
  const wy = w[1] * scale;
  const wz = w[2] * scale;
  const u0 = -dot(at, u) * scale - grid.u * scale;
  const v0 = -dot(at, v) * scale - grid.v * scale;
  const w0 = -dot(at, w) * scale - grid.w * scale;
  const { nu, nv, nw } = grid;
  let squares = 0;
  for (let k = 0; k < n; k++) {
    const p = 3 * (used ? used[k] : k);
    const x = positions[p];
    const y = positions[p + 1];
    const z = positions[p + 2];
    const iu = clampIndex(x * ux + y * uy + z * uz + u0, nu);
    const iv = clampIndex(x * vx + y * vy + z * vz + v0, nv);
    const iw = clampIndex(x * wx + y * wy + z * wz + w0, nw);
    const c = iu + nu * (iv + nv * iw);
    const r = residuals[k];
    count[c]++;
    sum[c] += r;
    squares += r * r;
  }
  return squares;
}

/** Halve a set of cells along its longest side, and the halves again, until there are at most `most` groups. */
function halve(cells: number[], grid: Grid, most: number): number[][] {
  if (cells.length <= 1 || most <= 1) return [cells];
  const index = cells.map((c) => cellIndices(c, grid));
  let axis = 0;
  let longest = -1;
  for (let a = 0; a < 3; a++) {
    let low = Infinity;
    let high = -Infinity;
    for (const i of index) {
      if (i[a] < low) low = i[a];
      if (i[a] > high) high = i[a];
    }
    if (high - low > longest) {
      longest = high - low;
      axis = a;
    }
  }
  const order = cells.map((_, k) => k).sort((a, b) => index[a][axis] - index[b][axis] || cells[a] - cells[b]);
  const firstHalf = Math.floor(most / 2);
  const cut = Math.max(1, Math.round((cells.length * firstHalf) / most));
  return [
    ...halve(
      order.slice(0, cut).map((k) => cells[k]),
      grid,
      firstHalf,
    ),
    ...halve(
      order.slice(cut).map((k) => cells[k]),
      grid,
      most - firstHalf,
    ),
  ];
}
