import type { HolePattern, Line, StepOutcome, Vec2, Vec3 } from '@fettle/geom';
import { dot, moved } from './sight.js';

/** Places a feature reaches to, in scan axes: the points a fit used, thinned; the ends of a constructed line. */
export type Reach = readonly Vec3[];

/** Points looked at for how far a feature reaches. */
const REACH_POINTS = 5_000;

/** How far the line of a row is drawn past its end holes, of its length. */
const PAST_ROW = 0.2;

/** How far what a step gave reaches; nothing where that is not known. */
export function reachOf(outcome: StepOutcome, positions: Float64Array | undefined): Reach {
  if (outcome.kind === 'construct' && outcome.feature.kind === 'line' && outcome.pattern)
    return rowOf(outcome.feature, outcome.pattern);
  if (outcome.kind === 'construct' && outcome.feature.kind === 'line' && outcome.uncertainty) {
    const { at, reach } = outcome.uncertainty;
    return [moved(at, outcome.feature.direction, -reach), moved(at, outcome.feature.direction, reach)];
  }
  if (outcome.kind !== 'fit' || positions === undefined) return [];
  const { used } = outcome.fit;
  const step = Math.max(1, Math.floor(used.length / REACH_POINTS));
  const found: Vec3[] = [];
  for (let i = 0; i < used.length; i += step) {
    const p = 3 * used[i]!;
    // Fits to sections count points of their own.
    if (p + 2 >= positions.length) return [];
    found.push([positions[p]!, positions[p + 1]!, positions[p + 2]!]);
  }
  return found;
}

/** How far the row reaches that the line of a pattern of holes runs along, a little beyond its end holes. */
function rowOf({ point, direction }: Line, { holes }: HolePattern): Vec3[] {
  const off = ({ nominal }: (typeof holes)[number]): Vec3 => [
    nominal[0] - point[0],
    nominal[1] - point[1],
    nominal[2] - point[2],
  ];
  const along = holes.map(off).flatMap((d) => {
    const s = dot(d, direction);
    const across = Math.hypot(...d.map((c, k) => c - s * direction[k]!));
    return across <= 1e-6 * (1 + Math.abs(s)) ? [s] : [];
  });
  const [from, to] = [Math.min(0, ...along), Math.max(0, ...along)];
  return [from - PAST_ROW * (to - from), to + PAST_ROW * (to - from)].map((s) => moved(point, direction, s));
}

/** Least and greatest, less the outermost half per cent on each side. */
export function span(values: readonly number[]): [number, number] {
  const sorted = Float64Array.from(values).sort();
  const off = Math.floor(0.005 * sorted.length);
  return [sorted[off]!, sorted[sorted.length - 1 - off]!];
}

/** The place nearest to the mean of all. */
export function middlePlace(places: readonly Vec2[]): Vec2 | undefined {
  const x = places.reduce((sum, p) => sum + p[0], 0) / places.length;
  const y = places.reduce((sum, p) => sum + p[1], 0) / places.length;
  const far = (p: Vec2): number => Math.hypot(p[0] - x, p[1] - y);
  return places.length > 0 ? places.reduce((best, p) => (far(p) < far(best) ? p : best)) : undefined;
}
