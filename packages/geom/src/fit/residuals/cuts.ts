import type { Cells } from './cells.js';

/** A line across a chart, straight or bowed, by which side of it points lie: beyond where across > offset. */
export interface Cut {
  /** Direction of the line in the chart stretched to a square, radians: across a long region small turns matter. */
  readonly turn: number;
  /** How far it bows over the chart's half-diagonal, as a share of it. */
  readonly bow: number;
}

function directionOf({ turn }: Cut, { sides, chart }: Cells): readonly [number, number] {
  if (chart.isCurve) return [Math.cos(turn), Math.sin(turn)];
  const [c, s] = [sides[0] * Math.cos(turn), sides[1] * Math.sin(turn)];
  const length = Math.hypot(c, s);
  return [c / length, s / length];
}

export function acrossOf(cut: Cut, cells: Cells): (x: number, y: number) => number {
  const { middle, reach } = cells;
  const [c, s] = directionOf(cut, cells);
  const bend = reach > 0 ? cut.bow / reach : 0;
  return (x, y) => {
    const along = c * (x - middle[0]) + s * (y - middle[1]);
    return c * (y - middle[1]) - s * (x - middle[0]) - bend * along * along;
  };
}

/** Pieces a line is taken in, so that strips beside it are compared where they lie beside each other. */
const PIECES = 10;
/** Widths of the strips, and steps of the offset, cells: across a surface, and along a curve, which has no length to average over. */
const WIDTHS = [1, 2, 4, 8] as const;
const STRIDES = [1, 1, 2, 3] as const;
const CURVE_WIDTHS = [3, 8, 20, 50] as const;
const CURVE_STRIDES = [1, 2, 5, 10] as const;
/** How strips are compared: the two nearest alone, or beyond a slope that all four share. */
export const WAYS = 2;
export const SCORES = WIDTHS.length * WAYS;
/** Points a strip of a piece must hold, share of the fullest strip's, and pieces (of a surface) that must have their strips. */
const LEAST_POINTS = 3;
const LEAST_SHARE = 0.35;
const LEAST_PIECES = 3;

/** Jumps along one cut at all its offsets, by width of the strips. */
export interface Jumps {
  /** Offsets are `from + k·step`. */
  readonly from: number;
  /** By score, by offset: the jump, mm; 0: none there. */
  readonly jump: readonly Float64Array[];
  /** What its variance would be if every point erred by itself, by a variance of 1, and if every piece of the line did. */
  readonly byPoints: readonly Float64Array[];
  readonly byPieces: readonly Float64Array[];
  /** Variance of the jump, mm², by how much the pieces of the line differ in it; 0 where it is one piece. */
  readonly scatter: readonly Float64Array[];
}

/**
 * Two strips on either side of a line at each offset: the jump between them beyond a slope they share, (3·(near difference) − (far
 * difference))/2, the mean over the pieces of the line by their points. What is smooth over the four strips has none, to third order.
 */
export function jumpsAlong(cut: Cut, cells: Cells, sum: Float64Array): Jumps {
  const { from, pieces, row, held, total } = stripsAlong(cut, cells, sum);
  const table = (): Float64Array[] => Array.from({ length: SCORES }, () => new Float64Array(row));
  const jumps = { from, jump: table(), byPoints: table(), byPieces: table(), scatter: table() };
  const { isCurve } = cells.chart;
  const strides = isCurve ? CURVE_STRIDES : STRIDES;
  (isCurve ? CURVE_WIDTHS : WIDTHS).forEach((w, q) => {
    for (let k = 2 * w; k + 2 * w < row; k += strides[q]) {
      const nearest = new Mean();
      const beyondSlope = new Mean();
      for (let p = 0; p < pieces; p++) {
        const e = p * row + k;
        const n = heldBeside(held, e, w);
        if (!n) continue;
        const near = (total[e + w] - total[e]) / n[2] - (total[e] - total[e - w]) / n[1];
        const wide = (total[e + 2 * w] - total[e + w]) / n[3] - (total[e - w] - total[e - 2 * w]) / n[0];
        nearest.add(near, weightOf(0, n));
        beyondSlope.add(1.5 * near - 0.5 * wide, weightOf(1, n));
      }
      if (nearest.count < Math.min(pieces, LEAST_PIECES)) continue;
      nearest.write(jumps, WAYS * q, k);
      beyondSlope.write(jumps, WAYS * q + 1, k);
    }
  });
  return jumps;
}

type FourStrips = readonly [number, number, number, number];

/** What of each strip's mean is in a jump, by how strips are compared. */
const SHARES: readonly FourStrips[] = [
  [0, -1, 1, 0],
  [0.5, -1.5, 1.5, -0.5],
];

/** Points of the four strips beside a place, where each holds enough. */
function heldBeside(held: Float64Array, e: number, w: number): FourStrips | undefined {
  const n1 = held[e - w] - held[e - 2 * w];
  const n2 = held[e] - held[e - w];
  const n3 = held[e + w] - held[e];
  const n4 = held[e + 2 * w] - held[e + w];
  const least = Math.max(LEAST_POINTS, LEAST_SHARE * Math.max(n1, n2, n3, n4));
  return n1 < least || n2 < least || n3 < least || n4 < least ? undefined : [n1, n2, n3, n4];
}

const weightOf = (way: number, n: FourStrips): number =>
  1 / SHARES[way].reduce((sum, share, strip) => sum + (share * share) / n[strip], 0);

/** Of one jump: how wide its strips are, what of each strip's mean is in it, and the weight of each piece; 0: it has none. */
export function stripsBeside(
  isCurve: boolean,
  held: Float64Array,
  row: number,
  pieces: number,
  place: number,
  score: number,
): { width: number; shares: FourStrips; weights: Float64Array } {
  const width = (isCurve ? CURVE_WIDTHS : WIDTHS)[Math.floor(score / WAYS)];
  const way = score % WAYS;
  const weights = Float64Array.from({ length: pieces }, (_, p) => {
    const n = heldBeside(held, p * row + place, width);
    return n ? weightOf(way, n) : 0;
  });
  return { width, shares: SHARES[way], weights };
}

/** Of a jump over the pieces of a line. */
class Mean {
  count = 0;
  #weights = 0;
  #squares = 0;
  #sum = 0;
  #ofSquares = [0, 0];

  add(jump: number, weight: number): void {
    const square = weight * weight;
    this.count++;
    this.#weights += weight;
    this.#squares += square;
    this.#sum += weight * jump;
    this.#ofSquares[0] += square * jump * jump;
    this.#ofSquares[1] += square * jump;
  }

  write({ jump, byPoints, byPieces, scatter }: Jumps, score: number, k: number): void {
    const mean = this.#sum / this.#weights;
    const square = this.#weights * this.#weights;
    jump[score][k] = mean;
    byPoints[score][k] = 1 / this.#weights;
    byPieces[score][k] = this.#squares / square;
    if (this.count < 2) return;
    const off = this.#ofSquares[0] - 2 * mean * this.#ofSquares[1] + mean * mean * this.#squares;
    scatter[score][k] = (Math.max(0, off) / square) * (this.count / (this.count - 1));
  }
}

/** Which piece of a line each cell lies beside, and how far across it, in steps. */
export function piecesOf(
  cut: Cut,
  cells: Cells,
): { from: number; pieces: number; row: number; piece: Uint8Array; bin: Int32Array } {
  const { count, step, reach, x, y, chart, middle } = cells;
  const across = acrossOf(cut, cells);
  const far = reach * (1 + Math.abs(cut.bow)) + step;
  const pieces = chart.isCurve ? 1 : PIECES;
  const [c, s] = directionOf(cut, cells);
  const piece = new Uint8Array(count);
  const bin = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    const along = c * (x[i] - middle[0]) + s * (y[i] - middle[1]);
    piece[i] = Math.min(pieces - 1, Math.floor(((along / reach + 1) / 2) * pieces));
    bin[i] = Math.floor((across(x[i], y[i]) + far) / step);
  }
  return { from: -far, pieces, row: Math.ceil((2 * far) / step) + 2, piece, bin };
}

/** Points and sums of residuals before each offset, piece by piece of the line. */
function stripsAlong(
  cut: Cut,
  cells: Cells,
  sum: Float64Array,
): { from: number; pieces: number; row: number; held: Float64Array; total: Float64Array } {
  const { from, pieces, row, piece, bin } = piecesOf(cut, cells);
  const held = new Float64Array(pieces * row);
  const total = new Float64Array(pieces * row);
  for (let i = 0; i < cells.count; i++) {
    const place = piece[i] * row + bin[i] + 1;
    held[place] += cells.points[i];
    total[place] += sum[i];
  }
  for (let p = 0; p < pieces; p++) {
    for (let k = 1; k < row; k++) {
      held[p * row + k] += held[p * row + k - 1];
      total[p * row + k] += total[p * row + k - 1];
    }
  }
  return { from, pieces, row, held, total };
}
