import { LuDecomposition, Matrix, pseudoInverse } from 'ml-matrix';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import { minimizeLinear } from './linear-program.js';
import type { DistanceJet, Pose, RoundShape } from './round-shape.js';
import type { Sides } from './trim.js';

/** A point that holds the optimum in place. */
export interface Touching {
  /** Place among the few points. */
  readonly place: number;
  readonly side: 1 | -1;
  /** Its share in the balance of contacts: positive, together 1 on each side. */
  readonly weight: number;
}

export interface FewOptimum {
  readonly pose: Pose;
  /** Largest distance (sides.high) less smallest (sides.low), mm. */
  readonly value: number;
  readonly touching: readonly Touching[];
  /** True when the contacts balance and hold the shape to second order; false when the search only came to rest. */
  readonly balanced: boolean;
}

/** The few points seen from a pose. */
interface View {
  readonly pose: Pose;
  readonly jets: readonly DistanceJet[];
  readonly high: number;
  readonly low: number;
  readonly value: number;
}

/**
 * A local minimum, near `start`, of what the criterion counts: the largest distance of a few points from a center or an axis, less the
 * smallest, or one of the two alone.
 *
 * Sequential linear programming inside a trust region names the contacts. Where as many contacts as unknowns hold the shape
 * this converges quadratically; where fewer do and the curvature of the distances takes part (two points on a diameter), it
 * would creep. So each linear program's contacts are put to Newton's method on the contact conditions themselves, equal distances and
 * balanced normals, with the true second derivatives; its answer is taken when all points are within, all weights are
 * positive and the curvature along what is left free is not negative.
 *
 * @param xyz the few points, in the axes of `start`'s own coordinates
 * @param limit how far the shape may move, mm
 */
export function minimizeFew(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  start: Pose,
  limit: number,
): FewOptimum {
  let here = viewFrom(xyz, shape, sides, start);
  let size = 0;
  for (const { distance } of here.jets) size = Math.max(size, distance);
  const rounding = 8 * Number.EPSILON * size;
  let trust = Math.min(limit, Math.max(here.high - here.low, rounding));
  let touching: readonly Touching[] = [];
  for (let step = 0; step < 300 && trust > rounding; step++) {
    const program = linearized(here, sides, trust);
    if (!program) {
      trust /= 4;
      continue;
    }
    touching = program.touching;
    const settled = settle(xyz, shape, sides, here, touching, limit, rounding);
    if (settled) return settled;
    const trial = viewFrom(xyz, shape, sides, shape.moved(here.pose, program.by));
    const gain = here.value - trial.value;
    if (program.gain <= rounding) {
      const lower = stepOff(xyz, shape, sides, here, touching, trust);
      if (!lower || here.value - lower.value <= rounding) break;
      here = lower;
    } else if (gain > program.gain / 10) {
      here = trial;
      if (gain > program.gain * 0.75) trust = Math.min(limit, 2 * trust);
    } else trust /= 4;
  }
  return { pose: here.pose, value: here.value, touching, balanced: false };
}

/** Coordinates of a point in a pose. */
export function seenFrom({ origin, u, v, w }: Pose, x: number, y: number, z: number): [number, number, number] {
  const px = x - origin[0];
  const py = y - origin[1];
  const pz = z - origin[2];
  return [u[0] * px + u[1] * py + u[2] * pz, v[0] * px + v[1] * py + v[2] * pz, w[0] * px + w[1] * py + w[2] * pz];
}

function viewFrom(xyz: Float64Array, shape: RoundShape, sides: Sides, pose: Pose): View {
  const jets: DistanceJet[] = [];
  let high = Number.NEGATIVE_INFINITY;
  let low = Number.POSITIVE_INFINITY;
  for (let k = 0; k < xyz.length; k += 3) {
    const jet = shape.jet(...seenFrom(pose, xyz[k], xyz[k + 1], xyz[k + 2]));
    jets.push(jet);
    high = Math.max(high, jet.distance);
    low = Math.min(low, jet.distance);
  }
  return { pose, jets, high, low, value: (sides.high ? high : 0) - (sides.low ? low : 0) };
}

/** Unknowns after the moves: the largest distance, the smallest, or both; counted from their present values. */
const levels = (sides: Sides): number => (sides.high ? 1 : 0) + (sides.low ? 1 : 0);

/** A row of the contact conditions: signed gradient, then −1 in the column of its level. */
function contactRow(gradient: readonly number[], side: 1 | -1, sides: Sides): number[] {
  const level = side === 1 || !sides.high ? 0 : 1;
  const row = [...gradient, ...new Array<number>(levels(sides)).fill(0)];
  row[gradient.length + level] = -1;
  return row;
}

/** The best small move to first order, and the points that decide it. */
function linearized(here: View, sides: Sides, trust: number) {
  const moves = here.jets[0].gradient.length;
  const rows: number[][] = [];
  const least: number[] = [];
  const of: { place: number; side: 1 | -1 }[] = [];
  let highest = 0;
  let lowest = 0;
  here.jets.forEach(({ distance, gradient }, place) => {
    if (sides.high) {
      if (distance === here.high) highest = rows.length;
      rows.push(contactRow(gradient, 1, sides).map((c) => -c));
      least.push(distance - here.high);
      of.push({ place, side: 1 });
    }
    if (sides.low) {
      if (distance === here.low) lowest = rows.length;
      rows.push(contactRow(gradient, -1, sides));
      least.push(here.low - distance);
      of.push({ place, side: -1 });
    }
  });
  const basis: number[] = [];
  if (sides.high) basis.push(highest);
  if (sides.low) basis.push(lowest);
  // The walls of the trust region: together with one point a side they make a start whose multipliers are nonnegative.
  for (let j = 0; j < moves; j++) {
    const slope = (sides.high ? -rows[highest][j] : 0) - (sides.low ? rows[lowest][j] : 0);
    for (const wall of [1, -1]) {
      if (wall === (slope >= 0 ? 1 : -1)) basis.push(rows.length);
      const row = new Array<number>(moves + levels(sides)).fill(0);
      row[j] = wall;
      rows.push(row);
      least.push(-trust);
    }
  }
  const cost = new Array<number>(moves + levels(sides)).fill(0);
  if (sides.high) cost[moves] = 1;
  if (sides.low) cost[cost.length - 1] = -1;
  const found = minimizeLinear({ cost, rows, least }, basis);
  if (!found) return undefined;
  const touching: Touching[] = [];
  found.basis.forEach((row, k) => {
    if (row < of.length && found.multipliers[k] > 1e-9) touching.push({ ...of[row], weight: found.multipliers[k] });
  });
  return { by: found.x.slice(0, moves), gain: -found.value, touching };
}

/** Newton's method on the contact conditions, dropping contacts that pull and adding points that stand out. */
function settle(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  from: View,
  first: readonly Touching[],
  limit: number,
  rounding: number,
): FewOptimum | undefined {
  let contacts = [...first];
  let view = from;
  for (let attempt = 0; attempt < 12; attempt++) {
    const balance = balanceContacts(xyz, shape, sides, view, contacts, limit, rounding);
    if (!balance) return undefined;
    view = balance.view;
    contacts = balance.contacts;
    const weakest = contacts.reduce((a, b) => (b.weight < a.weight ? b : a));
    if (weakest.weight < -1e-9) {
      contacts = contacts.filter((c) => c !== weakest);
      continue;
    }
    const stray = farthestOut(view, contacts, rounding);
    if (stray) {
      if (contacts.length >= shape.moves + levels(sides)) return undefined;
      contacts.push(stray);
      continue;
    }
    if (view.value > from.value + rounding || freeCurvature(view, sides, contacts).value < -1e-9) return undefined;
    return { pose: view.pose, value: view.value, touching: contacts, balanced: true };
  }
  return undefined;
}

/** Moves and weights for which the contacts stand at equal distances and their normals balance. */
function balanceContacts(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  from: View,
  first: readonly Touching[],
  limit: number,
  rounding: number,
): { view: View; contacts: Touching[] } | undefined {
  const m = shape.moves;
  const n = m + levels(sides);
  if ((sides.high && !first.some((c) => c.side === 1)) || (sides.low && !first.some((c) => c.side === -1)))
    return undefined;
  let view = from;
  let contacts = [...first];
  let last = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 30; step++) {
    const size = n + contacts.length;
    const matrix = Matrix.zeros(size, size);
    const right = new Array<number>(size).fill(0);
    contacts.forEach(({ place, side, weight }, k) => {
      const { distance, gradient, curvature } = view.jets[place];
      for (let i = 0; i < m; i++)
        for (let j = 0; j < m; j++) matrix.set(i, j, matrix.get(i, j) + side * weight * curvature[m * i + j]);
      contactRow(gradient, side, sides).forEach((c, j) => {
        matrix.set(n + k, j, c);
        matrix.set(j, n + k, side * c);
      });
      right[n + k] = (side === 1 ? view.high : view.low) - distance;
    });
    // Σ weights = 1 a side; the levels' columns hold −side.
    if (sides.high) right[m] = -1;
    if (sides.low) right[n - 1] = 1;
    const lu = new LuDecomposition(matrix);
    if (lu.isSingular()) return undefined;
    const x = lu.solve(Matrix.columnVector(right)).to1DArray();
    const by = x.slice(0, m);
    const step_ = Math.max(...by.map(Math.abs));
    if (!(step_ <= limit)) return undefined;
    contacts = contacts.map((c, k) => ({ ...c, weight: x[n + k] }));
    // At rounding: the step no longer shrinks.
    if (step_ <= rounding || (step_ < 1e-6 * limit && step_ >= last)) return { view, contacts };
    last = step_ < 1e-6 * limit ? step_ : Number.POSITIVE_INFINITY;
    view = viewFrom(xyz, shape, sides, shape.moved(view.pose, by));
  }
  return undefined;
}

/** The point that stands farthest beyond the contacts' distances, if any does. */
function farthestOut(view: View, contacts: readonly Touching[], rounding: number): Touching | undefined {
  let worst = 2 * rounding;
  let stray: Touching | undefined;
  for (const side of [1, -1] as const) {
    const level = contacts.find((c) => c.side === side);
    if (!level) continue;
    const bound = view.jets[level.place].distance;
    view.jets.forEach(({ distance }, place) => {
      const beyond = side * (distance - bound);
      if (beyond > worst && !contacts.some((c) => c.place === place && c.side === side)) {
        worst = beyond;
        stray = { place, side, weight: 0 };
      }
    });
  }
  return stray;
}

/** The least curvature, 1/mm, of the weighed distances along the moves that keep all contacts, and that move. */
function freeCurvature(view: View, sides: Sides, contacts: readonly Touching[]) {
  const m = view.jets[0].gradient.length;
  const n = m + levels(sides);
  const rows = new Matrix(contacts.map((c) => contactRow(view.jets[c.place].gradient, c.side, sides)));
  const free = Matrix.sub(Matrix.eye(n, n), pseudoInverse(rows).mmul(rows));
  const curvature = Matrix.zeros(n, n);
  let stiff = 0;
  for (const { place, side, weight } of contacts)
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) {
        const c = side * weight * view.jets[place].curvature[m * i + j];
        curvature.set(i, j, curvature.get(i, j) + c);
        stiff = Math.max(stiff, Math.abs(c));
      }
  const held = free.mmul(curvature).mmul(free);
  const { values, vectors } = symmetricEigen(held.to1DArray(), n);
  return { value: stiff > 0 ? values[0] / stiff : 0, move: vectors[0].slice(0, m) };
}

/** From a point at rest that is no minimum: a step along the most negative free curvature. */
function stepOff(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  here: View,
  contacts: readonly Touching[],
  trust: number,
): View | undefined {
  if (contacts.length === 0) return undefined;
  const { value, move } = freeCurvature(here, sides, contacts);
  if (value >= -1e-9) return undefined;
  let best: View | undefined;
  for (const step of [trust, -trust, trust / 8, -trust / 8]) {
    const by = move.map((c) => c * step);
    const view = viewFrom(xyz, shape, sides, shape.moved(here.pose, by));
    if (!best || view.value < best.value) best = view;
  }
  return best;
}
