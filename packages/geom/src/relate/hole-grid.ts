import { Matrix, solve } from 'ml-matrix';
import { FettleError } from '../error.js';
import type { Line } from '../feature/feature.js';
import type { WithCenter } from '../feature/roles.js';
import { add, normalize, scale } from '../math/vec3.js';
import { lengthText } from '../text/number-text.js';
import type { MissingHole, PlacedHole } from './hole-place.js';
import type { HolePatternOptions } from './hole-row.js';
import { type PatternPlane, patternPlane } from './pattern-plane.js';

/** Holes in rows and columns. */
export interface HoleGrid {
  readonly kind: 'grid';
  /** Along the rows from the first column; its point is the place of the first hole given. */
  readonly feature: Line;
  /** mm from place to place along a row, and from row to row along a column. */
  readonly pitch: readonly [along: number, across: number];
  /** From the rows to the columns, radians, in (0, π): π/2 when square. */
  readonly angle: number;
  readonly rows: number;
  readonly columns: number;
  /** In the order given. Places are named `row.column`, both from 1. */
  readonly holes: readonly PlacedHole[];
  readonly missing: readonly MissingHole[];
  /** Of the distances of holes off their places, mm. */
  readonly rms: number;
  readonly max: number;
}

type Flat = readonly [x: number, y: number];

/** A hole this share of the smaller pitch off its place is not at it. */
const share = 0.1;
/** The second direction of a grid turns at least so far from the first. */
const apart = Math.PI / 6;

/**
 * The grid with the least sum of squared distances to hole centers: two directions, each with its pitch, at any angle to each
 * other, found from the shortest ways between holes. Rows are counted along the direction of the shorter pitch; where the two are
 * nearly alike noise would decide that, and they are counted along the first way from the first hole given to another that follows
 * either.
 *
 * @throws FettleError `too-few-holes` (4), `holes-coincide`, `uneven-spacing` (also for holes in one row)
 */
export function holeGrid(holes: readonly WithCenter[], { within = 1 }: HolePatternOptions = {}): HoleGrid {
  if (holes.length < 4)
    throw new FettleError(
      'too-few-holes',
      `A grid needs at least 4 holes to have two pitches, and has ${holes.length}.`,
    );
  const plane = patternPlane(holes);
  const [u, v] = directions(plane.flat);
  const numbered = numberAlong(plane.flat, u, v);
  const fitted = fitGrid(plane.flat, numbered);
  const smallest = Math.min(Math.hypot(...fitted.u), Math.hypot(...fitted.v));
  const distinct = new Set(numbered.map(([i, j]) => `${i} ${j}`)).size === numbered.length;
  if (!distinct || !(fitted.max <= within && fitted.max <= share * smallest))
    throw new FettleError(
      'uneven-spacing',
      `The holes are not in rows and columns: at best one is ${lengthText(fitted.max)} off its place. Are they all of one grid?`,
    );
  return result(plane, numbered, fitted);
}

/** Along the rows, and the shortest way that turns at least 30° from it. */
function directions(flat: readonly Flat[]): [Flat, Flat] {
  const ways: Flat[] = [];
  for (const [i, a] of flat.entries()) for (const b of flat.slice(i + 1)) ways.push([b[0] - a[0], b[1] - a[1]]);
  ways.sort((p, q) => Math.hypot(...p) - Math.hypot(...q));
  const u = alongRows(ways, flat);
  const v = ways.find((way) => {
    const turn = turned(u, way);
    return turn >= apart && turn <= Math.PI - apart;
  });
  if (v === undefined)
    throw new FettleError(
      'uneven-spacing',
      'The holes lie in one row: a grid needs at least two. Measure them as a row.',
    );
  // Both mostly along +x or, square to it, +y, so that rows and columns count up.
  const up = (w: Flat): Flat => (w[0] + 1e-3 * w[1] < 0 ? [-w[0], -w[1]] : w);
  const first = up(u);
  const second = first[0] * v[1] - first[1] * v[0] < 0 ? ([-v[0], -v[1]] as const) : v;
  return [first, second];
}

/** The shortest way between two holes; of several as short to a tenth, the one that the way from the first hole to the next follows. */
function alongRows(ways: readonly Flat[], flat: readonly Flat[]): Flat {
  const short = ways.filter((way) => Math.hypot(...way) <= (1 + share) * Math.hypot(...ways[0]));
  for (const [x, y] of flat.slice(1)) {
    const way: Flat = [x - flat[0][0], y - flat[0][1]];
    const found = short.find((candidate) => Math.abs(Math.sin(turned(way, candidate))) < share);
    if (found !== undefined) return found;
  }
  return ways[0];
}

/** From one way to another, radians, in [0, π]. */
const turned = (a: Flat, b: Flat): number => Math.abs(Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]));

/** Row and column of every hole, counted from hole to nearest hole so that an error of the pitch does not add up. */
function numberAlong(flat: readonly Flat[], u: Flat, v: Flat): [number, number][] {
  const area = u[0] * v[1] - u[1] * v[0];
  const numbers: ([number, number] | undefined)[] = flat.map(() => undefined);
  numbers[0] = [0, 0];
  for (let left = flat.length - 1; left > 0; left--) {
    let best = { distance: Number.POSITIVE_INFINITY, from: 0, to: 0 };
    for (const [from, a] of flat.entries()) {
      if (numbers[from] === undefined) continue;
      for (const [to, b] of flat.entries()) {
        if (numbers[to] !== undefined) continue;
        const distance = Math.hypot(b[0] - a[0], b[1] - a[1]);
        if (distance < best.distance) best = { distance, from, to };
      }
    }
    const [x, y] = [flat[best.to][0] - flat[best.from][0], flat[best.to][1] - flat[best.from][1]];
    const [i, j] = numbers[best.from]!;
    numbers[best.to] = [i + Math.round((x * v[1] - y * v[0]) / area), j + Math.round((u[0] * y - u[1] * x) / area)];
  }
  return numbers as [number, number][];
}

interface FittedGrid {
  readonly origin: Flat;
  readonly u: Flat;
  readonly v: Flat;
  readonly offs: readonly number[];
  readonly max: number;
}

/** Origin and both directions by linear least squares. */
function fitGrid(flat: readonly Flat[], numbers: readonly (readonly [number, number])[]): FittedGrid {
  const design = new Matrix(numbers.map(([i, j]) => [1, i, j]));
  const found = solve(design, new Matrix(flat.map(([x, y]) => [x, y])), true);
  const row = (i: number): Flat => [found.get(i, 0), found.get(i, 1)];
  const [origin, u, v] = [row(0), row(1), row(2)];
  const offs = flat.map(([x, y], k) => {
    const [i, j] = numbers[k];
    return Math.hypot(x - origin[0] - i * u[0] - j * v[0], y - origin[1] - i * u[1] - j * v[1]);
  });
  return { origin, u, v, offs, max: Math.max(...offs) };
}

function result(plane: PatternPlane, numbers: readonly (readonly [number, number])[], grid: FittedGrid): HoleGrid {
  const { origin, u, v, offs, max } = grid;
  const columns = numbers.map(([i]) => i);
  const rows = numbers.map(([, j]) => j);
  const [left, right] = [Math.min(...columns), Math.max(...columns)];
  const [bottom, top] = [Math.min(...rows), Math.max(...rows)];
  const at = (i: number, j: number) => plane.toScan(origin[0] + i * u[0] + j * v[0], origin[1] + i * u[1] + j * v[1]);
  const name = (i: number, j: number) => `${j - bottom + 1}.${i - left + 1}`;
  const taken = new Set(numbers.map(([i, j]) => name(i, j)));
  const missing: MissingHole[] = [];
  for (let j = bottom; j <= top; j++)
    for (let i = left; i <= right; i++)
      if (!taken.has(name(i, j))) missing.push({ name: name(i, j), nominal: at(i, j) });
  const direction = normalize(add(scale(plane.x, u[0]), scale(plane.y, u[1])));
  return {
    kind: 'grid',
    feature: Object.freeze({ kind: 'line', point: at(...(numbers[0] as [number, number])), direction }),
    pitch: [Math.hypot(...u), Math.hypot(...v)],
    angle: Math.abs(Math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])),
    rows: top - bottom + 1,
    columns: right - left + 1,
    holes: numbers.map(([i, j], hole) => ({ hole, name: name(i, j), nominal: at(i, j), off: offs[hole] })),
    missing,
    rms: Math.sqrt(offs.reduce((sum, d) => sum + d * d, 0) / offs.length),
    max,
  };
}
