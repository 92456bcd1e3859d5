import { FettleError } from '../error.js';
import type { Circle } from '../feature/feature.js';
import type { WithCenter } from '../feature/roles.js';
import { fitCircle } from '../fit/shapes/circle.js';
import { lengthText } from '../text/number-text.js';
import type { MissingHole, PlacedHole } from './hole-place.js';
import { type PatternPlane, patternPlane } from './pattern-plane.js';

export interface BoltCircleOptions {
  /**
   * Places the full circle has. Absent: the fewest evenly spaced ones that every hole given is at, no more than twice as many as
   * holes were given: few holes are near some place of any fine enough spacing.
   */
  readonly count?: number;
  /** How far off its place a hole may be, mm. Default 1. */
  readonly within?: number;
}

/** Holes evenly spaced on a circle. */
export interface BoltCircle {
  readonly kind: 'bolt-circle';
  /** Through the places of the holes; its normal agrees with the first hole's. */
  readonly feature: Circle;
  /** Places on the full circle. */
  readonly count: number;
  /** Angle from one place to the next, radians. */
  readonly spacing: number;
  /** In the order given. Places are named `1`, `2`, … from the first hole given, counterclockwise against the normal. */
  readonly holes: readonly PlacedHole[];
  readonly missing: readonly MissingHole[];
  /** Of the distances of holes off their places, mm. */
  readonly rms: number;
  readonly max: number;
}

/** A hole this share of the spacing off its place is not at it: with narrower spacing every hole would be near some place. */
const share = 0.1;

/**
 * The bolt circle through hole centers: the evenly spaced places on a circle with the least sum of squared distances to the
 * holes. Missing holes are told by their places.
 *
 * With the place of each hole known, center, radius and turn follow in closed form (a similarity of the plane onto the n-th
 * roots of unity, linear in complex numbers). The places come from the circle fitted through the centers; without a count,
 * as many places as holes are tried first, then more.
 *
 * @throws FettleError `too-few-holes` (3), `holes-coincide`, `uneven-spacing`
 */
export function boltCircle(holes: readonly WithCenter[], options: BoltCircleOptions = {}): BoltCircle {
  const { count, within = 1 } = options;
  if (holes.length < 3)
    throw new FettleError('too-few-holes', `A bolt circle needs at least 3 holes and has ${holes.length}.`);
  if (count !== undefined && count < holes.length)
    throw new FettleError('uneven-spacing', `A bolt circle of ${count} places cannot hold ${holes.length} holes.`);
  const plane = patternPlane(holes);
  const start = anglesOf(plane);
  const counts = count === undefined ? range(holes.length, 2 * holes.length) : [count];
  let closest: Placed | undefined;
  for (const n of counts) {
    const placed = placedOn(n, start, plane);
    if (placed === undefined) continue;
    if (closest === undefined || placed.max < closest.max) closest = placed;
    const spacing = (2 * Math.PI * placed.radius) / n;
    if (placed.max <= within && placed.max <= share * spacing) return result(placed, plane);
  }
  const places = count === undefined ? `of ${holes.length} to ${2 * holes.length} places` : `of ${count} places`;
  throw new FettleError(
    'uneven-spacing',
    `The holes are not evenly spaced on a circle ${places}` +
      (closest ? `: at best, with ${closest.count} places, one is ${lengthText(closest.max)} off.` : '.') +
      ' Are they all of one bolt circle?',
  );
}

const range = (from: number, to: number): number[] => Array.from({ length: to - from + 1 }, (_, i) => from + i);

interface Start {
  readonly cx: number;
  readonly cy: number;
  /** Of each hole, counterclockwise from the first, radians in [0, 2π). */
  readonly angles: readonly number[];
}

function anglesOf({ flat }: PatternPlane): Start {
  const positions = Float64Array.from(flat.flatMap(([x, y]) => [x, y, 0]));
  const plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } as const;
  const [cx, cy] = fitCircle({ positions }, { plane }).feature.center;
  const raw = flat.map(([x, y]) => Math.atan2(y - cy, x - cx));
  const turn = 2 * Math.PI;
  return { cx, cy, angles: raw.map((a) => (((a - raw[0]) % turn) + turn) % turn) };
}

interface Placed {
  readonly count: number;
  readonly places: readonly number[];
  readonly cx: number;
  readonly cy: number;
  readonly radius: number;
  /** Angle of the first place, radians. */
  readonly turn: number;
  readonly offs: readonly number[];
  readonly max: number;
}

/** The best circle of n places; undefined if two holes would share one. */
function placedOn(count: number, start: Start, { flat }: PatternPlane): Placed | undefined {
  const step = (2 * Math.PI) / count;
  const { angles } = start;
  // The turn of the pattern against the first hole: the mean of all angles folded to one spacing.
  let sin = 0;
  let cos = 0;
  for (const a of angles) {
    sin += Math.sin(count * a);
    cos += Math.cos(count * a);
  }
  const turn = Math.atan2(sin, cos) / count;
  const first = Math.round((angles[0] - turn) / step);
  const places = angles.map((a) => (((Math.round((a - turn) / step) - first) % count) + count) % count);
  if (new Set(places).size < places.length) return undefined;
  const roots = places.map((k) => [Math.cos(k * step), Math.sin(k * step)] as const);
  return { count, places, ...similarity(roots, flat) };
}

type Flat = readonly (readonly [x: number, y: number])[];

/** The similarity that lays unit places on holes with the least sum of squared distances: z ≈ c + s·w, complex. */
function similarity(places: Flat, holes: Flat): Omit<Placed, 'count' | 'places'> {
  const n = holes.length;
  const mean = (points: Flat, i: 0 | 1) => points.reduce((sum, p) => sum + p[i], 0) / n;
  const [wx, wy, zx, zy] = [mean(places, 0), mean(places, 1), mean(holes, 0), mean(holes, 1)];
  let real = 0;
  let imaginary = 0;
  let size = 0;
  for (let i = 0; i < n; i++) {
    const a = places[i][0] - wx;
    const b = places[i][1] - wy;
    const x = holes[i][0] - zx;
    const y = holes[i][1] - zy;
    real += a * x + b * y;
    imaginary += a * y - b * x;
    size += a * a + b * b;
  }
  const [p, q] = [real / size, imaginary / size];
  const cx = zx - (p * wx - q * wy);
  const cy = zy - (q * wx + p * wy);
  const offs = holes.map(([x, y], i) => {
    const [a, b] = places[i];
    return Math.hypot(x - cx - (p * a - q * b), y - cy - (q * a + p * b));
  });
  return { cx, cy, radius: Math.hypot(p, q), turn: Math.atan2(q, p), offs, max: Math.max(...offs) };
}

function result({ count, places, cx, cy, radius, turn, offs, max }: Placed, plane: PatternPlane): BoltCircle {
  const spacing = (2 * Math.PI) / count;
  const nominal = (place: number) =>
    plane.toScan(cx + radius * Math.cos(turn + place * spacing), cy + radius * Math.sin(turn + place * spacing));
  const name = (place: number) => String(place + 1);
  return {
    kind: 'bolt-circle',
    feature: Object.freeze({ kind: 'circle', center: plane.toScan(cx, cy), normal: plane.normal, radius }),
    count,
    spacing,
    holes: places.map((place, hole) => ({ hole, name: name(place), nominal: nominal(place), off: offs[hole] })),
    missing: range(0, count - 1)
      .filter((place) => !places.includes(place))
      .map((place) => ({ name: name(place), nominal: nominal(place) })),
    rms: Math.sqrt(offs.reduce((sum, d) => sum + d * d, 0) / offs.length),
    max,
  };
}
