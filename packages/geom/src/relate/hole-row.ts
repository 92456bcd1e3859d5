import { FettleError } from '../error.js';
import type { Line } from '../feature/feature.js';
import type { WithCenter } from '../feature/roles.js';
import { add, scale } from '../math/vec3.js';
import { lengthText } from '../text/number-text.js';
import type { MissingHole, PlacedHole } from './hole-place.js';
import { patternPlane } from './pattern-plane.js';

export interface HolePatternOptions {
  /** How far off its place a hole may be, mm. Default 1. */
  readonly within?: number;
}

/** Holes at one pitch along a line. */
export interface HoleRow {
  readonly kind: 'row';
  /** Through the places of the holes, from the first end to the other; its point is the first place. */
  readonly feature: Line;
  /** mm from one place to the next. */
  readonly pitch: number;
  /** In the order given. Places are named `1`, `2`, … from the end nearer to the first hole given. */
  readonly holes: readonly PlacedHole[];
  /** Between the first and the last hole. */
  readonly missing: readonly MissingHole[];
  /** Of the distances of holes off their places, mm. */
  readonly rms: number;
  readonly max: number;
}

/** The smallest gap between neighbors may be so many pitches, when holes are missing. */
const mostPitchesInGap = 4;
/** A hole this share of the pitch off its place is not at it. */
const share = 0.1;

/**
 * The row of evenly spaced places on a line with the least sum of squared distances to hole centers. The pitch is the
 * largest that puts a place at every hole; no more places may be missing than holes are there, as few holes are near some
 * place of any fine enough pitch.
 *
 * @throws FettleError `too-few-holes` (3: any two are a row), `holes-coincide`, `uneven-spacing`
 */
export function holeRow(holes: readonly WithCenter[], { within = 1 }: HolePatternOptions = {}): HoleRow {
  if (holes.length < 3)
    throw new FettleError('too-few-holes', `A row needs at least 3 holes to have a pitch, and has ${holes.length}.`);
  const plane = patternPlane(holes);
  const { flat } = plane;
  // x runs from the first hole to the one farthest from it; the row leans against it by the holes' own scatter only.
  const n = flat.length;
  const sums = flat.reduce((s, [x, y]) => ({ xx: s.xx + x * x, xy: s.xy + x * y, yy: s.yy + y * y }), {
    xx: 0,
    xy: 0,
    yy: 0,
  });
  const lean = Math.atan2(2 * sums.xy, sums.xx - sums.yy) / 2;
  const [cos, sin] = [Math.cos(lean), Math.sin(lean)];
  const along = flat.map(([x, y]) => x * cos + y * sin);
  const across = flat.map(([x, y]) => y * cos - x * sin);
  const sorted = [...along].sort((a, b) => a - b);
  // Numbered from the end the first hole is nearer to.
  const turn = along[0] - sorted[0] <= sorted[n - 1] - along[0] ? 1 : -1;
  const t = along.map((a) => turn * a);
  const smallest = Math.min(...sorted.slice(1).map((a, i) => a - sorted[i]));

  let closest = Number.POSITIVE_INFINITY;
  for (let pitches = 1; pitches <= mostPitchesInGap; pitches++) {
    const row = spaced(t, smallest / pitches);
    if (row === undefined) continue;
    const offs = t.map((a, i) => Math.hypot(a - row.start - row.places[i] * row.pitch, across[i]));
    const max = Math.max(...offs);
    closest = Math.min(closest, max);
    if (max > within || max > share * row.pitch || Math.max(...row.places) >= 2 * n) continue;
    const at = (place: number) => {
      const s = turn * (row.start + place * row.pitch);
      return plane.toScan(s * cos, s * sin);
    };
    const name = (place: number) => String(place + 1);
    const direction = add(scale(plane.x, turn * cos), scale(plane.y, turn * sin));
    return {
      kind: 'row',
      feature: Object.freeze({ kind: 'line', point: at(0), direction }),
      pitch: row.pitch,
      holes: row.places.map((place, hole) => ({ hole, name: name(place), nominal: at(place), off: offs[hole] })),
      missing: Array.from({ length: Math.max(...row.places) + 1 }, (_, place) => place)
        .filter((place) => !row.places.includes(place))
        .map((place) => ({ name: name(place), nominal: at(place) })),
      rms: Math.sqrt(offs.reduce((sum, d) => sum + d * d, 0) / n),
      max,
    };
  }
  throw new FettleError(
    'uneven-spacing',
    `The holes are not at one pitch along a line: at best one is ${lengthText(closest)} off its place. Are they all of one row?`,
  );
}

interface Spaced {
  readonly start: number;
  readonly pitch: number;
  readonly places: readonly number[];
}

/** Places at about a pitch, start and pitch by least squares; undefined if two holes would share one. */
function spaced(t: readonly number[], about: number): Spaced | undefined {
  const least = Math.min(...t);
  const n = t.length;
  let start = least;
  let pitch = about;
  let places: number[] = [];
  // A pitch known from one gap numbers the near holes right; fitted to those it numbers the far ones.
  for (let reach = 2; ; reach *= 2) {
    places = t.map((a) => Math.round((a - start) / pitch));
    const near = places.map((k, i) => ({ k, a: t[i] })).filter(({ k }) => k <= reach);
    if (near.length > 1) {
      const meanK = near.reduce((s, p) => s + p.k, 0) / near.length;
      const meanA = near.reduce((s, p) => s + p.a, 0) / near.length;
      const spread = near.reduce((s, p) => s + (p.k - meanK) ** 2, 0);
      if (spread === 0) return undefined;
      pitch = near.reduce((s, p) => s + (p.k - meanK) * (p.a - meanA), 0) / spread;
      start = meanA - pitch * meanK;
    }
    if (near.length === n) break;
    if (!(pitch > 0) || reach > 1e6) return undefined;
  }
  const first = Math.min(...places);
  if (new Set(places).size < n) return undefined;
  return { start: start + first * pitch, pitch, places: places.map((k) => k - first) };
}
