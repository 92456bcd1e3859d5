import type { NoiseNear } from '../../noise/noise-near.js';
import { type Cells, cellsOf, sumOver } from './cells.js';
import type { Chart } from './chart.js';
import { acrossOf, type Cut, type Jumps, jumpsAlong, SCORES, WAYS } from './cuts.js';
import { timesKnown } from './step-explained.js';

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
/** Jumps of fewer times the usual are not held against the known noise. */
const SUSPECT = 4;
const TURNS = 12;
const BOWS = [0, -0.2, 0.2, -0.45, 0.45];
/** Directions that the usual jumps are told by in fine cells. */
const USUAL_TURNS = 6;
/** The best of the coarse cuts are turned and bowed by less, and then the best of these. */
const CARRIED_ON = 3;
const NEARER = { turn: (0.25 * Math.PI) / TURNS, bow: 0.1 };
const NEAREST = { turn: (0.08 * Math.PI) / TURNS, bow: 0.035 };

/** What the pieces of a line differ by counts for so much more, since they are few. */
const SCATTER = 1.2;

interface Found {
  readonly cut: Cut;
  readonly offset: number;
  /** Of the offset among the line's, and the jump there, mm. */
  readonly place: number;
  readonly jump: number;
  /** Which of the scores. */
  readonly by: number;
  /** Jump over what such jumps are elsewhere. */
  readonly times: number;
}

/**
 * Two passes that meet within the region: the largest jump along any of many lines, straight and bowed, beside how large such jumps are
 * elsewhere in the same residuals once this one is taken out. That allows for noise of any kind and length without a model of it: noise
 * that is alike over lengths has larger jumps everywhere, smooth noise hardly any. Where the noise is known, such a step must also be beyond it.
 */
export function largestStep(chart: Chart, residual: Float64Array, noise?: NoiseNear): Step | undefined {
  const cells = cellsWith(chart, FINE);
  const sum = sumOver(cells, residual);
  const best = chart.isCurve ? onCurve(cells, sum) : onSurface(chart, residual, cells, sum);
  if (!best) return undefined;
  const across = acrossOf(best.cut, cells);
  return {
    beyond: (x, y) => across(x, y) - best.offset,
    middle: cells.middle,
    height: best.jump,
    times: noise && best.times > SUSPECT ? Math.min(best.times, timesKnown(cells, best, noise)) : best.times,
  };
}

const cellsWith = (chart: Chart, { most, each }: { most: number; each: number }): Cells =>
  cellsOf(chart, Math.min(most, chart.points.length / each));

/** A closed curve that holds two passes has two steps: both are taken out before jumps elsewhere are looked at. */
function onCurve(cells: Cells, sum: Float64Array): Found | undefined {
  const cuts = [{ turn: Math.PI / 2, bow: 0 }];
  let without: readonly [Cells, Float64Array] = [cells, sum];
  for (let k = 0; k < 2; k++) {
    const found = clearest(largest(cuts, ...without, usualJumps(...without, cuts)));
    if (!found) break;
    without = leaveOut(...without, found);
  }
  return clearest(largest(cuts, cells, sum, usualJumps(...without, cuts)));
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
  const usual = usualJumps(...leaveOut(cells, sum, sought[0]), fan(USUAL_TURNS));
  const near = starts.flatMap((cut) => about(cut, NEARER));
  const best = clearest(largest(near, cells, sum, usual));
  if (!best) return undefined;
  const settled = clearest([best, ...largest(about(best.cut, NEAREST), cells, sum, usual)])!;
  const without = usualJumps(...leaveOut(cells, sum, settled), fan(USUAL_TURNS));
  return clearest(largest([settled.cut], cells, sum, without));
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
    const { from, jump, byPoints, byPieces, scatter } = jumpsAlong(cut, cells, sum);
    for (let q = 0; q < SCORES; q++) {
      const { ofPoint, ofPiece } = usual.at({ cut, by: q });
      if (!(ofPoint > 0)) continue;
      let most = best[q]?.times ?? 0;
      for (let k = 0; k < jump[q].length; k++) {
        if (jump[q][k] === 0) continue;
        const variance = Math.max(ofPoint * byPoints[q][k], ofPiece * byPieces[q][k], SCATTER * scatter[q][k]);
        const times = Math.abs(jump[q][k]) / Math.sqrt(variance);
        if (times <= most) continue;
        most = times;
        best[q] = { cut, offset: from + k * cells.step, place: k, jump: jump[q][k], by: q, times };
      }
    }
  }
  return best.filter((f) => f !== undefined);
}

/** Variance of a point or of a piece of the line, mm², that would make jumps as large as they are elsewhere. */
interface UsualJump {
  readonly ofPoint: number;
  readonly ofPiece: number;
}

interface Usual {
  at(found: Pick<Found, 'cut' | 'by'>): UsualJump;
}

/**
 * Mean square over all straight cuts, or over those of about the same direction where that is more: scans are made in lines. Where points
 * lie close, those that err together make jumps no smaller: both variances are allowed for. Strips are compared with narrower ones too, since
 * of wide ones there may be few.
 */
function usualJumps(cells: Cells, sum: Float64Array, cuts: readonly Cut[]): Usual {
  const n = cuts.length;
  const every = cuts.map((_, d) => d);
  const sums = cuts.map((cut) => squaresOf(jumpsAlong(cut, cells, sum)));
  const meanOver = (own: readonly number[], q: number, what: 'points' | 'pieces'): number => {
    const count = own.reduce((all, d) => all + sums[d].counts[q], 0);
    return count > 0 ? own.reduce((all, d) => all + sums[d][what][q], 0) / count : 0;
  };
  const table = every.map((d) => {
    const near = [d - 1, d, d + 1].map((k) => (k + n) % n);
    const most = (q: number, what: 'points' | 'pieces'): number =>
      Math.max(meanOver(every, q, what), meanOver(near, q, what));
    const usual: UsualJump[] = [];
    for (let q = 0; q < SCORES; q++) {
      const ofNarrower = usual[q - WAYS]?.ofPoint ?? 0;
      usual.push({ ofPoint: Math.max(ofNarrower, most(q, 'points')), ofPiece: most(q, 'pieces') });
    }
    return usual;
  });
  return { at: ({ cut, by }) => table[(Math.round((cut.turn / Math.PI) * n) + n) % n][by] };
}

/** By score, squares of jumps beside their variance by points and by pieces, and how many there are. */
function squaresOf({ jump, byPoints, byPieces }: Jumps) {
  const [points, pieces, counts] = Array.from({ length: 3 }, () => new Float64Array(SCORES));
  for (let q = 0; q < SCORES; q++) {
    for (let k = 0; k < jump[q].length; k++) {
      if (jump[q][k] === 0) continue;
      points[q] += jump[q][k] ** 2 / byPoints[q][k];
      pieces[q] += jump[q][k] ** 2 / byPieces[q][k];
      counts[q]++;
    }
  }
  return { points, pieces, counts };
}

/** Cells and sums of the residuals with the far side let down by the jump. */
function leaveOut(cells: Cells, sum: Float64Array, { cut, offset, jump }: Found): readonly [Cells, Float64Array] {
  const across = acrossOf(cut, cells);
  return [cells, sum.map((s, c) => (across(cells.x[c], cells.y[c]) > offset ? s - jump * cells.points[c] : s))];
}
