import { type Cells, cellsOf, sumOver } from './cells.js';
import type { Chart } from './chart.js';
import { acrossOf, type Cut, type Jumps, jumpsAlong, SCORES } from './cuts.js';

/** A jump in the residuals along a line. */
export interface Step {
  /** How far a place of the chart lies beyond the line, mm; less than 0: before it. */
  beyond(x: number, y: number): number;
  /** Of the chart. */
  readonly middle: readonly [number, number];
  /** How much higher the far side lies, mm. */
  readonly height: number;
  /** How many times larger than such jumps are elsewhere. */
  readonly times: number;
}

/** Cells that lines are sought in, and those they are settled and judged in: at most, and points in one about. */
const COARSE = { most: 1024, each: 5 };
const FINE = { most: 8192, each: 1.2 };
const TURNS = 12;
const BOWS = [0, -0.2, 0.2, -0.45, 0.45];
/** Directions that the usual jumps are told by in fine cells. */
const USUAL_TURNS = 6;
/** The best of the coarse cuts are turned and bowed by less, and then the best of these. */
const CARRIED_ON = 3;
const NEARER = { turn: (0.25 * Math.PI) / TURNS, bow: 0.1 };
const NEAREST = { turn: (0.08 * Math.PI) / TURNS, bow: 0.035 };

interface Found {
  readonly cut: Cut;
  readonly offset: number;
  readonly jump: number;
  /** Which of the scores. */
  readonly by: number;
  /** Jump over what such jumps are elsewhere. */
  readonly times: number;
}

/**
 * Two passes that meet within the region: the largest jump along any of many lines, straight and bowed, beside how large such jumps are
 * elsewhere in the same residuals once this one is taken out. That allows for noise of any kind and length without a model of it: noise
 * that is alike over lengths has larger jumps everywhere, smooth noise hardly any.
 */
export function largestStep(chart: Chart, residual: Float64Array): Step | undefined {
  const cells = cellsWith(chart, FINE);
  const sum = sumOver(cells, residual);
  const best = chart.isCurve ? onCurve(cells, sum) : onSurface(chart, residual, cells, sum);
  if (!best) return undefined;
  const across = acrossOf(best.cut, cells);
  return {
    beyond: (x, y) => across(x, y) - best.offset,
    middle: cells.middle,
    height: best.jump,
    times: best.times,
  };
}

const cellsWith = (chart: Chart, { most, each }: { most: number; each: number }): Cells =>
  cellsOf(chart, Math.min(most, chart.points.length / each));

/** A closed curve that holds two passes has two steps: both are taken out before jumps elsewhere are looked at. */
function onCurve(cells: Cells, sum: Float64Array): Found | undefined {
  const cuts = [{ turn: Math.PI / 2, bow: 0 }];
  let without = sum;
  for (let k = 0; k < 2; k++) {
    const found = clearest(largest(cuts, cells, without, usualJumps(cells, without, cuts)));
    if (!found) return undefined;
    without = leaveOut(cells, without, found);
  }
  return clearest(largest(cuts, cells, sum, usualJumps(cells, without, cuts)));
}

/** Sought in coarse cells, settled in fine ones. */
function onSurface(chart: Chart, residual: Float64Array, cells: Cells, sum: Float64Array): Found | undefined {
  const coarse = cellsWith(chart, COARSE);
  const coarseSum = sumOver(coarse, residual);
  const straight = fan(TURNS);
  const cuts = straight.flatMap(({ turn }) => BOWS.map((bow) => ({ turn, bow })));
  const sought = largest(cuts, coarse, coarseSum, usualJumps(coarse, coarseSum, straight));
  sought.sort((a, b) => b.times - a.times);
  if (sought.length === 0) return undefined;
  const starts: Cut[] = [];
  for (const { cut } of sought) if (starts.length < CARRIED_ON && !starts.includes(cut)) starts.push(cut);
  const usual = usualJumps(cells, leaveOut(cells, sum, sought[0]), fan(USUAL_TURNS));
  const near = starts.flatMap((cut) => about(cut, NEARER));
  const best = clearest(largest(near, cells, sum, usual));
  return best && clearest([best, ...largest(about(best.cut, NEAREST), cells, sum, usual)]);
}

const fan = (count: number): Cut[] =>
  Array.from({ length: count }, (_, k) => ({ turn: (k * Math.PI) / count, bow: 0 }));

const about = ({ turn, bow }: Cut, by: Cut): Cut[] =>
  [-1, 0, 1].flatMap((t) => [-1, 0, 1].map((b) => ({ turn: turn + t * by.turn, bow: bow + b * by.bow })));

const clearest = (found: readonly Found[]): Found | undefined =>
  found.reduce<Found | undefined>((best, f) => (f.times > (best?.times ?? 0) ? f : best), undefined);

/** The clearest jump of each score. */
function largest(cuts: readonly Cut[], cells: Cells, sum: Float64Array, usual: Usual): Found[] {
  const best = new Array<Found | undefined>(SCORES);
  for (const cut of cuts) {
    const { from, jump, variance } = jumpsAlong(cut, cells, sum);
    for (let q = 0; q < SCORES; q++) {
      const scale = usual.at({ cut, by: q });
      if (!(scale > 0)) continue;
      let most = best[q]?.times ?? 0;
      for (let k = 0; k < jump[q].length; k++) {
        if (variance[q][k] === 0) continue;
        const times = Math.abs(jump[q][k]) / Math.sqrt(variance[q][k]) / scale;
        if (times <= most) continue;
        most = times;
        best[q] = { cut, offset: from + k * cells.step, jump: jump[q][k], by: q, times };
      }
    }
  }
  return best.filter((f) => f !== undefined);
}

/** How large jumps are elsewhere, in what white noise of unit variance would give. */
interface Usual {
  at(found: Pick<Found, 'cut' | 'by'>): number;
}

/** Root mean square over all straight cuts, or over those of about the same direction where that is more: scans are made in lines. */
function usualJumps(cells: Cells, sum: Float64Array, cuts: readonly Cut[]): Usual {
  const n = cuts.length;
  const squares = cuts.map(() => new Float64Array(SCORES));
  const counts = cuts.map(() => new Float64Array(SCORES));
  cuts.forEach((cut, d) => {
    addSquares(jumpsAlong(cut, cells, sum), squares[d], counts[d]);
  });
  const rootOver = (own: readonly number[], q: number): number => {
    const count = own.reduce((all, d) => all + counts[d][q], 0);
    return count > 0 ? Math.sqrt(own.reduce((all, d) => all + squares[d][q], 0) / count) : 0;
  };
  const every = cuts.map((_, d) => d);
  const table = every.map((d) => {
    const near = [d - 1, d, d + 1].map((k) => (k + n) % n);
    return Array.from({ length: SCORES }, (_, q) => Math.max(rootOver(every, q), rootOver(near, q)));
  });
  return { at: ({ cut, by }) => table[(Math.round((cut.turn / Math.PI) * n) + n) % n][by] };
}

function addSquares({ jump, variance }: Jumps, squares: Float64Array, counts: Float64Array): void {
  for (let q = 0; q < SCORES; q++) {
    for (let k = 0; k < jump[q].length; k++) {
      if (variance[q][k] === 0) continue;
      squares[q] += jump[q][k] ** 2 / variance[q][k];
      counts[q]++;
    }
  }
}

/** Sums of the residuals with the far side let down by the jump. */
function leaveOut(cells: Cells, sum: Float64Array, { cut, offset, jump }: Found): Float64Array {
  const across = acrossOf(cut, cells);
  return sum.map((s, c) => (across(cells.x[c], cells.y[c]) > offset ? s - jump * cells.points[c] : s));
}
