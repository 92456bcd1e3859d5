/** Values this share of the points have are terraces of rounded coordinates. */
const populous = 0.1;
/** Coordinates that repeat less than this are not rounded to anything that matters here. */
const repeated = 0.5;
/** Fewer points tell nothing. */
const fewest = 30;

/** Whether coordinates along an axis take few values among some points, as those of a depth camera along its view. */
export function isRounded(positions: Float64Array, points: ArrayLike<number>, axis: number): boolean {
  return points.length >= fewest && distinct(positions, points, axis).size <= repeated * points.length;
}

/**
 * How far apart the values are that coordinates along an axis take among some points, mm: the middle one of the gaps between values that
 * many points share. Undefined where one value at most is shared by many: the points reach over one step, or over very many.
 */
export function valueStep(positions: Float64Array, points: ArrayLike<number>, axis: number): number | undefined {
  const shared = Array.from(distinct(positions, points, axis))
    .filter(([, count]) => count >= populous * points.length)
    .map(([value]) => value)
    .sort((a, b) => a - b);
  if (shared.length < 2) return undefined;
  const gaps = shared.slice(1).map((value, i) => value - shared[i]);
  return gaps.sort((a, b) => a - b)[gaps.length >> 1];
}

/** Values along an axis, with how many points have them. */
function distinct(positions: Float64Array, points: ArrayLike<number>, axis: number): Map<number, number> {
  const counts = new Map<number, number>();
  for (let i = 0; i < points.length; i++) {
    const value = positions[3 * points[i] + axis];
    counts.set(value, (counts.get(value) ?? 0) + 1);
  }
  return counts;
}
