import { FettleError, type Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { countText } from '../../text/number-text.js';
import { robustScale } from '../outliers/robust-scale.js';
import { type FlatShape, MOVES } from './flat-shape.js';
import { type FlatSolution, gather, solveFlat } from './flat-solve.js';

const MOST_ROUNDS = 50;

export interface FlatKept<S> {
  readonly state: S;
  readonly solution: FlatSolution<S>;
  /** Places of the points kept; absent: all. */
  readonly places?: Uint32Array;
  readonly warnings: readonly Warning[];
}

export function keepAllFlat<S, F extends Feature>(shape: FlatShape<S, F>, xy: Float64Array, start: S): FlatKept<S> {
  const solution = solveFlat(shape, xy, start);
  return { state: solution.state, solution, warnings: [] };
}

/**
 * Leave out points farther than `sigmas` robust scales, fit, and repeat until the set stays.
 *
 * @param finest residuals within which no point is an outlier, mm
 */
export function rejectAndFitFlat<S, F extends Feature>(
  shape: FlatShape<S, F>,
  xy: Float64Array,
  start: S,
  sigmas: number,
  prefix: string,
  finest: (state: S) => number,
): FlatKept<S> {
  const count = xy.length / 2;
  const residuals = new Float64Array(count);
  const row = new Float64Array(MOVES);
  let state = start;
  let places: Uint32Array | undefined;
  let solution: FlatSolution<S> | undefined;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const distance = shape.distance(state);
    let size = 0;
    for (let i = 0; i < count; i++) {
      residuals[i] = distance(xy[2 * i], xy[2 * i + 1], row);
      size = Math.max(size, Math.abs(xy[2 * i]), Math.abs(xy[2 * i + 1]));
    }
    const keep = Uint8Array.from(residuals, () => (places ? 0 : 1));
    if (places) for (const i of places) keep[i] = 1;
    const limit = Math.max(sigmas * robustScale(residuals, 1, keep), 64 * Number.EPSILON * size, finest(state));
    const next = Uint32Array.from(
      Array.from({ length: count }, (_, i) => i).filter((i) => Math.abs(residuals[i]) <= limit),
    );
    if (solution && places && next.length === places.length && next.every((p, i) => p === places![i]))
      return { state, solution, places, warnings: [] };
    if (next.length < MOVES)
      throw new FettleError(
        'too-few-points',
        `${prefix}Rejecting at ${sigmas} sigmas leaves ${countText(next.length)} of ${countText(count)} points; a ${shape.kind} ` +
          `needs at least ${MOVES}. Give a larger reject or a region with more points.`,
      );
    places = next;
    solution = solveFlat(shape, gather(xy, places), state);
    state = solution.state;
  }
  const message =
    `The points left out at ${sigmas} sigmas still changed after ${MOST_ROUNDS} rounds. Give a larger reject, or a region with less ` +
    'of other outlines in it.';
  return { state, solution: solution!, places: places!, warnings: [{ code: 'reject-turning', message }] };
}
