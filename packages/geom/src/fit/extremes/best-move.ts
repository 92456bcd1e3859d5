import { minimizeLinear } from './linear-program.js';
import type { Sides } from './trim.js';
import { contactRow, levels, type Touching, type View } from './view.js';

/** Rounds of tangent planes before a move is taken as it is. */
const ROUNDS = 20;

/**
 * The best move within `trust`, by a linear program: every distance to first order, and where the curvature of one
 * makes a move worse, more and more tangent planes of its second-order form (Kelley's cuts).
 */
export function bestMove(here: View, sides: Sides, trust: number) {
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
