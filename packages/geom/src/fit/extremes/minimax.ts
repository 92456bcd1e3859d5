import { bestMove } from './best-move.js';
import { freeCurvature, settle } from './contact-balance.js';
import type { Pose, RoundShape } from './round-shape.js';
import type { Sides } from './trim.js';
import { largest, type Touching, type View, viewFrom } from './view.js';

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

/**
 * A local minimum, near `start`, of what the criterion counts: the largest distance of a few points from a center or an
 * axis, less the smallest, or one of the two alone.
 *
 * Sequential programming inside a trust region names the contacts: each step minimizes the distances to first order,
 * and to second where that makes them worse. Then Newton's method is tried on the contact conditions themselves, equal
 * distances and balanced normals, with the true second derivatives; its answer is taken when all points are within, all
 * weights are positive and the curvature along what is left free is not negative.
 *
 * Tried, the smallest cylinder around 10 to 110 points near a line, 6,000 draws: linear programs without the curvature
 * creep along valleys held by two opposite points and left 1 draw unfinished after 300 steps; one curvature for all, of
 * the points that touch, left 1; a curvature each, as here, none.
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
    if (settled) {
      const { view, touching: contacts } = settled;
      return { pose: view.pose, value: view.value, touching: contacts, balanced: true, way: way + trust };
    }
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
