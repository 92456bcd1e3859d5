import { DisjointSets } from '../../scan/disjoint-sets.js';
import { FlatGrid } from './flat-grid.js';
import type { CurvePlace } from './local-curve.js';

/** Places in a row. */
export interface Row {
  readonly places: readonly number[];
  readonly closed: boolean;
}

/** A link runs along the curve at its ends to within 60°, but at corners. */
const ALONG = 0.5;
/** Two links of a place leave it to different sides: the angle between them is above 60°. */
const APART = 0.5;
/** Links of a closed row at least: three places near each other are no outline. */
const LEAST = 5;

/** How far links reach, in gaps between points: points that fall by chance leave five free once in a hundred and fifty. */
const REACH = 5;
/** How far apart the ends of two rows that meet in a corner are at most, in gaps. */
const CORNER = 3;
/** Over long gaps links run along the curve to within 25°, */
const STRAIGHT = 0.9;
/** and may be so many times as long. */
const LONG = 2;

/**
 * Joins places on curves into rows: the shortest links first, two a place at most, to either side of it, along the curve at both
 * ends; then, of ends left over, those that meet in a corner, and those that go on in each other farther off.
 */
export function linkPlaces(places: readonly CurvePlace[]): Row[] {
  const flat = Float64Array.from(places.flatMap(({ x, y }) => [x, y]));
  const grid = new FlatGrid(flat, REACH * (places[0]?.gap ?? 1));
  for (let i = 0; i < places.length; i++) grid.add(i);
  /** Pairs, and how far they are apart, squared, over what the gaps at both are. */
  const candidates: { i: number; j: number; squared: number; gaps: number }[] = [];
  places.forEach(({ gap }, j) => {
    grid.visit(flat[2 * j], flat[2 * j + 1], LONG * REACH * gap, (i, squared) => {
      // Each pair once: by the later one, or by the one that alone reaches so far.
      const isSeen = i > j && squared <= (LONG * REACH * places[i].gap) ** 2;
      if (squared > 0 && !isSeen)
        candidates.push({ i, j, squared, gaps: (2 * Math.sqrt(squared)) / (gap + places[i].gap) });
    });
  });
  candidates.sort((p, q) => p.squared - q.squared || p.i - q.i || p.j - q.j);

  const links: number[][] = places.map(() => []);
  const sets = new DisjointSets(places.length);
  const sizes = new Uint32Array(places.length).fill(1);
  /** Cosine of the angle at `i` between the way to `j` and the link it has; −1 without one. */
  const turn = (i: number, j: number): number => {
    if (links[i].length === 0) return -1;
    const [k] = links[i];
    const [ax, ay] = [flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]];
    const [bx, by] = [flat[2 * k] - flat[2 * i], flat[2 * k + 1] - flat[2 * i + 1]];
    return (ax * bx + ay * by) / (Math.hypot(ax, ay) * Math.hypot(bx, by));
  };
  const along = (i: number, j: number): number => {
    const [dx, dy] = [flat[2 * j] - flat[2 * i], flat[2 * j + 1] - flat[2 * i + 1]];
    return Math.abs(dx * places[i].tx + dy * places[i].ty) / Math.hypot(dx, dy);
  };
  const join = (alongAt: number, farthest: number): void => {
    for (const { i, j, gaps } of candidates) {
      if (gaps > farthest) continue;
      if (links[i].length > 1 || links[j].length > 1 || links[i].includes(j)) continue;
      if (along(i, j) < alongAt || along(j, i) < alongAt || turn(i, j) > APART || turn(j, i) > APART) continue;
      const [a, b] = [sets.find(i), sets.find(j)];
      if (a === b && sizes[a] < LEAST) continue;
      links[i].push(j);
      links[j].push(i);
      if (a === b) continue;
      sets.merge(a, b);
      sizes[Math.min(a, b)] = sizes[a] + sizes[b];
    }
  };
  join(ALONG, REACH);
  join(0, CORNER);
  join(STRAIGHT, LONG * REACH);
  return rowsOf(links);
}

function rowsOf(links: readonly (readonly number[])[]): Row[] {
  const used = new Uint8Array(links.length);
  const rows: Row[] = [];
  const follow = (start: number): void => {
    const row = [start];
    used[start] = 1;
    for (let at: number | undefined = start; at !== undefined; ) {
      at = links[at].find((next) => !used[next]);
      if (at === undefined) break;
      used[at] = 1;
      row.push(at);
    }
    const closed = row.length > 2 && links[start].length === 2 && links[start].includes(row.at(-1)!);
    rows.push({ places: row, closed });
  };
  for (let i = 0; i < links.length; i++) if (!used[i] && links[i].length < 2) follow(i);
  for (let i = 0; i < links.length; i++) if (!used[i]) follow(i);
  return rows;
}
