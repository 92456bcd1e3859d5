import type { NoiseNear } from '../../noise/noise-near.js';
import type { Cells } from './cells.js';
import { type Cut, piecesOf, stripsBeside } from './cuts.js';
import { explainedBy } from './explained.js';

/** How many times a jump along a cut is what the scan's noise gives such a jump, one standard deviation. */
export function timesKnown(
  cells: Cells,
  { cut, place, jump, by }: { cut: Cut; place: number; jump: number; by: number },
  noise: NoiseNear,
): number {
  const { points, count } = cells;
  const { piece, bin, row, pieces } = piecesOf(cut, cells);
  const held = new Float64Array(pieces * row);
  for (let c = 0; c < count; c++) held[piece[c] * row + bin[c] + 1] += points[c];
  for (let p = 0; p < pieces; p++) for (let k = 1; k < row; k++) held[p * row + k] += held[p * row + k - 1];
  const { width, shares, weights } = stripsBeside(cells.chart.isCurve, held, row, pieces, place, by);
  const whole = weights.reduce((sum, weight) => sum + weight, 0);
  const chosen: number[] = [];
  const term: number[] = [];
  for (let c = 0; c < count; c++) {
    const strip = Math.floor((bin[c] - place) / width) + 2;
    if (strip < 0 || strip > 3 || weights[piece[c]] === 0) continue;
    chosen.push(c);
    term.push(((weights[piece[c]] / whole) * shares[strip] * Math.sqrt(points[c])) / heldBy(c, strip));
  }
  function heldBy(c: number, strip: number): number {
    const at = piece[c] * row + place + (strip - 2) * width;
    return held[at + width] - held[at];
  }
  const of = (values: Float64Array): Float64Array => Float64Array.from(chosen, (c) => values[c]);
  const own = { ...cells, count: chosen.length, points: of(points), x: of(cells.x), y: of(cells.y) };
  const white = noise.white * term.reduce((sum, t) => sum + t * t, 0);
  const shared = explainedBy({ ...noise, white: 0 }, [Float64Array.from(term)], own)[0];
  return Math.abs(jump) / Math.sqrt(white + shared);
}
