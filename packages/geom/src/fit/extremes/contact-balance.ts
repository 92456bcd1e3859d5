import { LuDecomposition, Matrix, pseudoInverse } from 'ml-matrix';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import type { RoundShape } from './round-shape.js';
import type { Sides } from './trim.js';
import { contactRow, largest, levels, type Touching, type View, viewFrom } from './view.js';

/** Newton's method on the contact conditions, dropping contacts that pull and adding points that stand out. */
export function settle(
  xyz: Float64Array,
  shape: RoundShape,
  sides: Sides,
  from: View,
  first: readonly Touching[],
  limit: number,
  rounding: number,
): { readonly view: View; readonly touching: readonly Touching[] } | undefined {
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
    return { view, touching: contacts };
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

/** The weighed curvature of the contacts' distances, 1/mm: what a move costs to second order. */
function weighedCurvature(view: View, contacts: readonly Touching[]): Matrix {
  const m = view.jets[0].gradient.length;
  const sum = Matrix.zeros(m, m);
  for (const { place, side, weight } of contacts)
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) sum.set(i, j, sum.get(i, j) + side * weight * view.jets[place].curvature[m * i + j]);
  return sum;
}

/** The least curvature, 1/mm, of the weighed distances along the moves that keep all contacts, and that move. */
export function freeCurvature(view: View, sides: Sides, contacts: readonly Touching[]) {
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
