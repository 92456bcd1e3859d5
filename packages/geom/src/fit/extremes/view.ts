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

/** The few points seen from a pose. */
export interface View {
  readonly pose: Pose;
  readonly jets: readonly DistanceJet[];
  readonly high: number;
  readonly low: number;
  readonly value: number;
}

/** Coordinates of a point in a pose. */
export function seenFrom({ origin, u, v, w }: Pose, x: number, y: number, z: number): [number, number, number] {
  const px = x - origin[0];
  const py = y - origin[1];
  const pz = z - origin[2];
  return [u[0] * px + u[1] * py + u[2] * pz, v[0] * px + v[1] * py + v[2] * pz, w[0] * px + w[1] * py + w[2] * pz];
}

export function viewFrom(xyz: Float64Array, shape: RoundShape, sides: Sides, pose: Pose): View {
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
export const levels = (sides: Sides): number => (sides.high ? 1 : 0) + (sides.low ? 1 : 0);

/** A row of the contact conditions: the gradient of the contact's distance, then −1 in the column of its level. */
export function contactRow(gradient: readonly number[], side: 1 | -1, sides: Sides): number[] {
  const level = side === 1 || !sides.high ? 0 : 1;
  const row = [...gradient, ...new Array<number>(levels(sides)).fill(0)];
  row[gradient.length + level] = -1;
  return row;
}

/** The most any move moves, mm. */
export const largest = (moves: readonly number[]): number => Math.max(...moves.map(Math.abs));
