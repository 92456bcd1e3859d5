import { dot, type Vec3 } from '../../math/vec3.js';
import type { Parameter, Placement } from './placement.js';
import type { PointSet } from './point-set.js';

/** Points worked on at a time: their rows stay in the first level of cache. */
export const BLOCK = 256;
/** Rows of a block's columns: up to two a point, and a few more so that columns do not fall on the same lines of cache. */
export const STRIDE = 2 * BLOCK + 8;
/** Up to seven parameters and the distance. */
const COLUMNS = 8;

/** What the sums ask of a shape: its distances and their derivatives, for points in the placement's own axes. */
export interface Distances {
  readonly parameters: readonly Parameter[];
  /** Numbers whose squares add up to a point's squared distance: 2 for a line and a circle in space, else 1. */
  readonly components: 1 | 2;
  /**
   * For the `count` points (x, y, z), in the axes u, v, w from `at`: column m of `rows` gets their signed distances, columns 0 to
   * m − 1 the derivatives of these with respect to the parameters. A column starts every {@link STRIDE} numbers. The second
   * components, where there are any, follow in the same columns after `count`.
   */
  fillRows(
    x: Float64Array,
    y: Float64Array,
    z: Float64Array,
    count: number,
    rows: Float64Array,
    radius: number,
    halfAngle: number,
  ): void;
}

/** The normal equations JᵀJ·step = −Jᵀd at one placement, and what the same pass saw of the residuals. */
export interface NormalEquations {
  /** JᵀJ, m×m. */
  readonly normal: Float64Array;
  /** Jᵀd. */
  readonly gradient: Float64Array;
  /** dᵀd, mm². */
  readonly squares: number;
}

const x = new Float64Array(BLOCK);
const y = new Float64Array(BLOCK);
const z = new Float64Array(BLOCK);
const rows = new Float64Array(COLUMNS * STRIDE);
const sums = new Float64Array(COLUMNS * COLUMNS);

/**
 * Sum the normal equations over all points, a block at a time.
 *
 * Tried, a cylinder through 10⁶ points, the bare loops of one pass: sums in some twenty local variables of one loop 41 ms
 * (they do not fit the registers); columns multiplied pair by pair 25 ms; columns in tiles of two by two, as here, 11.5 ms; in
 * tiles of three by three 10 ms, but seven and eight columns do not divide by three. A dense Jacobian of ml-matrix and its product
 * with itself take 130 ms.
 */
export function sumNormalEquations(
  shape: Distances,
  placement: Placement,
  origin: Vec3,
  set: PointSet,
): NormalEquations {
  const m = shape.parameters.length;
  const width = (m + 2) & ~1;
  const { radius, halfAngle } = placement;
  const axes = axesOf(placement, origin);
  sums.fill(0);
  // The column beyond an odd number of them is multiplied too: it holds zeros.
  if (width > m + 1) rows.fill(0, (m + 1) * STRIDE, width * STRIDE);
  for (let from = 0; from < set.count; from += BLOCK) {
    const count = Math.min(BLOCK, set.count - from);
    fillLocal(set.xyz, from, count, axes, x, y, z);
    shape.fillRows(x, y, z, count, rows, radius, halfAngle);
    const height = count * shape.components;
    for (let c = 0; c < width; c += 2) {
      for (let a = 0; a < c; a += 2) addTile(a, c, height);
      addDiagonalTile(c, height);
    }
  }
  const normal = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++) normal[i * m + j] = normal[j * m + i] = sums[i * COLUMNS + j];
  }
  const gradient = new Float64Array(m);
  for (let j = 0; j < m; j++) gradient[j] = sums[m * COLUMNS + j];
  return { normal, gradient, squares: sums[m * COLUMNS + m] };
}

/** Columns a, a + 1 times columns c, c + 1. */
function addTile(a: number, c: number, height: number): void {
  const p = a * STRIDE;
  const q = c * STRIDE;
  let s00 = 0;
  let s01 = 0;
  let s10 = 0;
  let s11 = 0;
  for (let k = 0; k < height; k++) {
    const p0 = rows[p + k];
    const p1 = rows[p + STRIDE + k];
    const q0 = rows[q + k];
    const q1 = rows[q + STRIDE + k];
    s00 += q0 * p0;
    s01 += q0 * p1;
    s10 += q1 * p0;
    s11 += q1 * p1;
  }
  sums[c * COLUMNS + a] += s00;
  sums[c * COLUMNS + a + 1] += s01;
  sums[(c + 1) * COLUMNS + a] += s10;
  sums[(c + 1) * COLUMNS + a + 1] += s11;
}

/** Columns c, c + 1 times themselves. */
function addDiagonalTile(c: number, height: number): void {
  const q = c * STRIDE;
  let s00 = 0;
  let s10 = 0;
  let s11 = 0;
  for (let k = 0; k < height; k++) {
    const q0 = rows[q + k];
    const q1 = rows[q + STRIDE + k];
    s00 += q0 * q0;
    s10 += q1 * q0;
    s11 += q1 * q1;
  }
  sums[c * COLUMNS + c] += s00;
  sums[(c + 1) * COLUMNS + c] += s10;
  sums[(c + 1) * COLUMNS + c + 1] += s11;
}

/** Coordinates of `count` points from place `from` on, in the placement's axes from its `at`. */
export const toLocal = (
  xyz: Float64Array,
  from: number,
  count: number,
  placement: Placement,
  origin: Vec3,
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
): void => fillLocal(xyz, from, count, axesOf(placement, origin), x, y, z);

const AXES = 15;
const theAxes = new Float64Array(AXES);

/**
 * Origin, u, v, w, and `at` along these: a placement as the loop over points reads it. One array serves all: of a few dozen points, as
 * guesses are scored on, spreading vectors into a new one took longer than their distances.
 */
function axesOf({ at, u, v, w }: Placement, origin: Vec3, axes = theAxes): Float64Array {
  for (let k = 0; k < 3; k++) {
    axes[k] = origin[k];
    axes[3 + k] = u[k];
    axes[6 + k] = v[k];
    axes[9 + k] = w[k];
  }
  axes[12] = dot(at, u);
  axes[13] = dot(at, v);
  axes[14] = dot(at, w);
  return axes;
}

/**
 * Like the other loops over points it sees typed arrays and numbers alone: what the engine knows of those it does not forget
 * between fits, as it does what it knew of objects that are gone. A fit after a garbage collection took 1.8 times as long with a
 * placement here.
 */
function fillLocal(
  xyz: Float64Array,
  from: number,
  count: number,
  axes: Float64Array,
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
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
  const au = axes[12];
  const av = axes[13];
  const aw = axes[14];
  for (let k = 0, i = 3 * from; k < count; k++, i += 3) {
    const px = xyz[i] - ox;
    const py = xyz[i + 1] - oy;
    const pz = xyz[i + 2] - oz;
    x[k] = px * ux + py * uy + pz * uz - au;
    y[k] = px * vx + py * vy + pz * vz - av;
    z[k] = px * wx + py * wy + pz * wz - aw;
  }
}

/** What one pass saw of the residuals. */
export interface ResidualSums {
  readonly squares: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Signed distance of every point into `residuals`, one a point: of two components the root of their squares' sum, with the
 * first one's sign where `isSigned`. `gradient` gets Jᵀd.
 */
export function fillResiduals(
  shape: Distances,
  placement: Placement,
  origin: Vec3,
  set: PointSet,
  isSigned: boolean,
  residuals: Float64Array,
  gradient?: Float64Array,
): ResidualSums {
  const distances = shape.parameters.length * STRIDE;
  const { radius, halfAngle } = placement;
  const axes = axesOf(placement, origin);
  gradient?.fill(0);
  seen.set([0, Infinity, -Infinity]);
  for (let from = 0; from < set.count; from += BLOCK) {
    const count = Math.min(BLOCK, set.count - from);
    fillLocal(set.xyz, from, count, axes, x, y, z);
    shape.fillRows(x, y, z, count, rows, radius, halfAngle);
    if (gradient) addGradient(distances, count * shape.components, gradient);
    if (shape.components === 2) joinComponents(distances, count, isSigned);
    keepResiduals(distances, count, from, residuals);
  }
  return { squares: seen[0], low: seen[1], high: seen[2] };
}

/** Sum of squares, lowest and highest of the residuals so far. */
const seen = new Float64Array(3);

function keepResiduals(distances: number, count: number, from: number, residuals: Float64Array): void {
  let squares = 0;
  let low = seen[1];
  let high = seen[2];
  for (let k = 0; k < count; k++) {
    const r = rows[distances + k];
    residuals[from + k] = r;
    squares += r * r;
    if (r < low) low = r;
    if (r > high) high = r;
  }
  seen[0] += squares;
  seen[1] = low;
  seen[2] = high;
}

function addGradient(distances: number, height: number, gradient: Float64Array): void {
  for (let a = 0; a < gradient.length; a++) {
    const p = a * STRIDE;
    let sum = 0;
    for (let k = 0; k < height; k++) sum += rows[p + k] * rows[distances + k];
    gradient[a] += sum;
  }
}

function joinComponents(distances: number, count: number, isSigned: boolean): void {
  for (let k = 0; k < count; k++) {
    const a = rows[distances + k];
    const b = rows[distances + count + k];
    const r = Math.sqrt(a * a + b * b);
    rows[distances + k] = isSigned && a < 0 ? -r : r;
  }
}

/** The rows of single points: `rowsAt(place)` gives columns a {@link STRIDE} apart, with `count` 1. */
export function rowsOf(
  shape: Distances,
  placement: Placement,
  origin: Vec3,
  set: PointSet,
): (place: number) => Float64Array {
  const { radius, halfAngle } = placement;
  const axes = axesOf(placement, origin, new Float64Array(AXES));
  return (place) => {
    fillLocal(set.xyz, place, 1, axes, x, y, z);
    shape.fillRows(x, y, z, 1, rows, radius, halfAngle);
    return rows;
  };
}
