import type { Join } from './join.js';
import type { Outline } from './places.js';
import type { Stretch } from './split.js';
import { lossOf } from './sums.js';

/**
 * Stretches with each break at the point nearest the join, where that leaves both long enough and what they leave does not
 * grow past chance (χ² of one freedom, once in a thousand). Breaks as the split leaves them stand where noise liked them best,
 * which flatters the fits beside them; joins of fitted shapes are indifferent.
 *
 * @param joins between each stretch and the next
 */
export function stretchesByJoins(
  stretches: readonly Stretch[],
  joins: readonly Join[],
  outline: Outline,
  minimumPoints: number,
  sigma: number,
): Stretch[] {
  const { flat } = outline;
  const n = flat.length / 2;
  const moved = [...stretches];
  joins.forEach(({ kind, at }, i) => {
    const j = (i + 1) % stretches.length;
    const [before, after] = [moved[i], moved[j]];
    if (kind === 'gap' || (before.byHand ?? after.byHand) !== undefined) return;
    const lap = before.to - after.from;
    // The points of a rounded corner between them belong to neither.
    if (lap % n !== 0) return;
    let best = before.to;
    let least = Number.POSITIVE_INFINITY;
    for (let b = before.from + minimumPoints; b <= after.to + lap - minimumPoints; b++) {
      const far = Math.hypot(flat[2 * (b % n)] - at[0], flat[2 * (b % n) + 1] - at[1]);
      if (far < least) {
        least = far;
        best = b;
      }
    }
    const lossAt = (b: number) =>
      lossOf(outline, before.shape, before.from, b) + lossOf(outline, after.shape, b, after.to + lap);
    if (lossAt(best) - lossAt(before.to) > 10.8 * sigma * sigma) return;
    moved[i] = { ...before, to: best };
    moved[j] = { ...after, from: best - lap };
  });
  return moved.map((s) => (s.from < 0 ? { ...s, from: s.from + n, to: s.to + n } : s));
}

/** The points a shape is fitted to: less up to two beside each break, which may be the neighbor's, or a corner's rounding. */
export function innerPart(stretch: Stretch): Stretch {
  if (stretch.byHand !== undefined) return stretch;
  const { from, to } = stretch;
  const spare = Math.max(0, Math.min(2, Math.floor((to - from - 6) / 2)));
  return { ...stretch, from: from + spare, to: to - spare };
}
