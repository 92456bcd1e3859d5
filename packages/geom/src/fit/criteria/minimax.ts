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
  /** Length of the way here from the start, mm. */
  readonly way: number;
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
 * Sequential programming inside a trust region names the contacts: each step minimizes the distances to first order, and to
 * second where that makes them worse. Then Newton's method is tried on the contact conditions themselves, equal distances and balanced normals,
 * with the true second derivatives; its answer is taken when all points are within, all weights are positive and the
 * curvature along what is left free is not negative.
 *
 * Tried, the smallest cylinder around 10 to 110 points near a line, 6,000 draws: linear programs without the curvature creep along
 * valleys held by two opposite points and left 1 draw unfinished after 300 steps; one curvature for all, of the points that touch,
 * left 1; a curvature each, as here, none.
 *
 * @param xyz the few points, in the axes of `start`'s own coordinates
 * @param limit length of the way the shape may go, mm
 */
export function minimizeFew(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  start: Pose,
  limit: number,
): FewOptimum {
  let here = viewFrom(xyz, shape, sides, start);
  const rounding = Number.EPSILON * (8 * here.high + xyz.reduce((most, c) => Math.max(most, Math.abs(c)), 0));
  let trust = Math.min(limit, Math.max(here.high - here.low, 1e-6 * limit));
  let touching: readonly Touching[] = [];
  let way = 0;
  for (let step = 0; step < 300 && trust > rounding && way < limit; step++) {
    const program = bestMove(here, sides, trust);
    if (!program) {
      trust /= 4;
      continue;
    }
    touching = program.touching;
    const settled = settle(xyz, shape, sides, here, touching, limit, rounding);
    if (settled) return { ...settled, way: way + trust };
    const at = (by: readonly number[]) => viewFrom(xyz, shape, sides, shape.moved(here.pose, by));
    const atRest = program.gain <= rounding;
    const next = atRest ? stepOff(here, sides, touching, trust, at) : at(program.by);
    const gain = next ? here.value - next.value : 0;
    if (next && gain > Math.min(rounding, program.gain / 10)) {
      here = next;
      way += atRest ? trust : largest(program.by);
    } else if (atRest) break;
    if (gain < program.gain / 4) trust = Math.min(trust, largest(program.by)) / 4;
    else if (gain > program.gain * 0.75) trust = Math.min(limit, 2 * trust);
  }
  return { pose: here.pose, value: here.value, touching, balanced: false, way };
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

/** Rounds of tangent planes before a move is taken as it is. */
const ROUNDS = 20;

/**
 * The best move within `trust`, by a linear program: every distance to first order, and where the curvature of one makes a
 * move worse, more and more tangent planes of its second-order form (Kelley's cuts).
 */
function bestMove(here: View, sides: Sides, trust: number) {
  const moves = here.jets[0].gradient.length;
  const unknowns = moves + levels(sides);
  const rows: number[][] = [];
  const least: number[] = [];
  const of: ({ place: number; side: 1 | -1 } | undefined)[] = [];
  const demand = (row: number[], atLeast: number, contact?: { place: number; side: 1 | -1 }) => {
    rows.push(row);
    least.push(atLeast);
    of.push(contact);
  };
  const demandLevel = (place: number, side: 1 | -1, distance: number, gradient: readonly number[]) =>
    demand(
      contactRow(gradient, side, sides).map((c) => -side * c),
      side * (distance - (side === 1 ? here.high : here.low)),
      { place, side },
    );
  let highest = 0;
  let lowest = 0;
  here.jets.forEach(({ distance, gradient }, place) => {
    if (distance === here.high) highest = rows.length;
    if (sides.high) demandLevel(place, 1, distance, gradient);
    if (distance === here.low) lowest = rows.length;
    if (sides.low) demandLevel(place, -1, distance, gradient);
  });
  const basis: number[] = [];
  if (sides.high) basis.push(highest);
  if (sides.low) basis.push(lowest);
  // The walls of the trust region: together with one point a side they make a start whose multipliers are nonnegative.
  for (let j = 0; j < moves; j++) {
    const slope = (sides.high ? -rows[highest][j] : 0) - (sides.low ? rows[lowest][j] : 0);
    for (const wall of [1, -1]) {
      if (wall === (slope >= 0 ? 1 : -1)) basis.push(rows.length);
      const row = new Array<number>(unknowns).fill(0);
      row[j] = wall;
      demand(row, -trust);
    }
  }
  const cost = new Array<number>(unknowns).fill(0);
  if (sides.high) cost[moves] = 1;
  if (sides.low) cost[unknowns - 1] = -1;

  let found = minimizeLinear({ cost, rows, least }, basis);
  for (let round = 0; found && round < ROUNDS; round++) {
    const before = rows.length;
    const by = found.x.slice(0, moves);
    const slack = -found.value / 10;
    const top = found.x[moves] + here.high + slack;
    const bottom = found.x[unknowns - 1] + here.low - slack;
    here.jets.forEach(({ distance, gradient, curvature }, place) => {
      const bend = by.map((_, i) => by.reduce((sum, c, j) => sum + curvature[moves * i + j] * c, 0));
      const half = dotOf(bend, by) / 2;
      const then = distance + dotOf(gradient, by) + half;
      const demandTangent = (side: 1 | -1) =>
        demandLevel(
          place,
          side,
          distance - half,
          gradient.map((c, i) => c + bend[i]),
        );
      if (sides.high && half > 0 && then > top) demandTangent(1);
      if (sides.low && half < 0 && then < bottom) demandTangent(-1);
    });
    if (rows.length === before) break;
    found = minimizeLinear({ cost, rows, least }, found.basis);
  }
  if (!found) return undefined;
  const weights = new Map<number, Touching>();
  const { multipliers } = found;
  found.basis.forEach((row, k) => {
    const contact = of[row];
    if (!contact || multipliers[k] <= 1e-9) return;
    const key = 2 * contact.place + (contact.side === 1 ? 1 : 0);
    weights.set(key, { ...contact, weight: multipliers[k] + (weights.get(key)?.weight ?? 0) });
  });
  return { by: found.x.slice(0, moves), gain: -found.value, touching: [...weights.values()] };
}

const dotOf = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, c, i) => sum + c * b[i], 0);

/** The weighed curvature of the contacts' distances, 1/mm: what a move costs to second order. */
function weighedCurvature(view: View, contacts: readonly Touching[]): Matrix {
  const m = view.jets[0].gradient.length;
  const sum = Matrix.zeros(m, m);
  for (const { place, side, weight } of contacts)
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) sum.set(i, j, sum.get(i, j) + side * weight * view.jets[place].curvature[m * i + j]);
  return sum;
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
): Omit<FewOptimum, 'way'> | undefined {
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
  if ((sides.high && !first.some((c) => c.side === 1)) || (sides.low && !first.some((c) => c.side === -1)))
    return undefined;
  let view = from;
  let contacts = [...first];
  const small = Math.max(1e-6 * (from.high - from.low), 64 * rounding);
  let last = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 30; step++) {
    const next = contactStep(view, sides, contacts);
    if (!next) return undefined;
    const length = largest(next.by);
    if (!(length <= limit)) return undefined;
    contacts = contacts.map((c, k) => ({ ...c, weight: next.weights[k] }));
    // At rounding: the contacts are level, and the step no longer shrinks as Newton's does.
    if (length <= small && (length <= rounding || length > last / 2) && unevenness(view, contacts) <= 4 * rounding)
      return { view, contacts };
    last = length;
    view = viewFrom(xyz, shape, sides, shape.moved(view.pose, next.by));
  }
  return undefined;
}

/** How far the contacts of a side are from one distance, mm. */
function unevenness(view: View, contacts: readonly Touching[]): number {
  const spread = (side: 1 | -1) => {
    const distances = contacts.filter((c) => c.side === side).map((c) => view.jets[c.place].distance);
    return distances.length > 0 ? Math.max(...distances) - Math.min(...distances) : 0;
  };
  return Math.max(spread(1), spread(-1));
}

/** Newton's step toward equal distances and balanced normals of the contacts, and the weights it gives them. */
function contactStep(view: View, sides: Sides, contacts: readonly Touching[]) {
  const m = view.jets[0].gradient.length;
  const n = m + levels(sides);
  const size = n + contacts.length;
  const matrix = Matrix.zeros(size, size);
  const right = new Array<number>(size).fill(0);
  matrix.setSubMatrix(weighedCurvature(view, contacts), 0, 0);
  contacts.forEach(({ place, side }, k) => {
    const { distance, gradient } = view.jets[place];
    contactRow(gradient, side, sides).forEach((c, j) => {
      matrix.set(n + k, j, c);
      matrix.set(j, n + k, side * c);
    });
    right[n + k] = (side === 1 ? view.high : view.low) - distance;
  });
  // The weights of a side add up to 1; the columns of the levels hold −side.
  if (sides.high) right[m] = -1;
  if (sides.low) right[n - 1] = 1;
  const lu = new LuDecomposition(matrix);
  if (lu.isSingular()) return undefined;
  const x = lu.solve(Matrix.columnVector(right)).to1DArray();
  return { by: x.slice(0, m), weights: x.slice(n) };
}

const largest = (moves: readonly number[]): number => Math.max(...moves.map(Math.abs));

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
  const curvature = Matrix.zeros(n, n).setSubMatrix(weighedCurvature(view, contacts), 0, 0);
  const stiff = Math.max(curvature.max(), -curvature.min());
  const held = free.mmul(curvature).mmul(free);
  const { values, vectors } = symmetricEigen(held.to1DArray(), n);
  return { value: stiff > 0 ? values[0] / stiff : 0, move: vectors[0].slice(0, m) };
}

/** From a point at rest that is no minimum: a step along the most negative free curvature. */
function stepOff(
  here: View,
  sides: Sides,
  contacts: readonly Touching[],
  trust: number,
  at: (by: readonly number[]) => View,
): View | undefined {
  if (contacts.length === 0) return undefined;
  const { value, move } = freeCurvature(here, sides, contacts);
  if (value >= -1e-9) return undefined;
  return [trust, -trust, trust / 8, -trust / 8]
    .map((step) => at(move.map((c) => c * step)))
    .reduce((a, b) => (b.value < a.value ? b : a));
}
