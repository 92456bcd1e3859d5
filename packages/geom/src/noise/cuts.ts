import type { Cells } from './cells.js';

/** A line across a chart, straight or bowed, by which side of it points lie: beyond where across > offset. */
export interface Cut {
  /** Direction of the line, radians. */
  readonly turn: number;
  /** How far it bows over the chart's half-diagonal, as a share of it. */
  readonly bow: number;
}

export function acrossOf({ turn, bow }: Cut, { middle, reach }: Cells): (x: number, y: number) => number {
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const bend = reach > 0 ? bow / reach : 0;
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
const WAYS = 2;
export const SCORES = WIDTHS.length * WAYS;
/** Points a strip of a piece must hold, share of the fullest strip's, and pieces (of a surface) that must have their strips. */
const LEAST_POINTS = 3;
const LEAST_SHARE = 0.35;
const LEAST_PIECES = 3;

/** Jumps along one cut at all its offsets, by width of the strips. */
export interface Jumps {
  /** Offsets are `from + k·step`. */
  readonly from: number;
  /** By width, by offset: the jump, mm, and what its variance would be for white noise of unit variance; 0: none there. */
  readonly jump: readonly Float64Array[];
  readonly variance: readonly Float64Array[];
}

/**
 * Two strips on either side of a line at each offset: the jump between them beyond a slope they share, (3·(near difference) − (far
 * difference))/2, the mean over the pieces of the line by their points. What is smooth over the four strips has none, to third order.
 */
export function jumpsAlong(cut: Cut, cells: Cells, sum: Float64Array): Jumps {
  const { from, pieces, row, held, total } = stripsAlong(cut, cells, sum);
  const jump = Array.from({ length: SCORES }, () => new Float64Array(row));
  const variance = Array.from({ length: SCORES }, () => new Float64Array(row));
  const { isCurve } = cells.chart;
  const strides = isCurve ? CURVE_STRIDES : STRIDES;
  (isCurve ? CURVE_WIDTHS : WIDTHS).forEach((w, q) => {
    for (let k = 2 * w; k + 2 * w < row; k += strides[q]) {
      let [jumps, weights, had] = [0, 0, 0];
      let [jumpsBeyond, weightsBeyond] = [0, 0];
      for (let p = 0; p < pieces; p++) {
        const e = p * row + k;
        const n1 = held[e - w] - held[e - 2 * w];
        const n2 = held[e] - held[e - w];
        const n3 = held[e + w] - held[e];
        const n4 = held[e + 2 * w] - held[e + w];
        const least = Math.max(LEAST_POINTS, LEAST_SHARE * Math.max(n1, n2, n3, n4));
        if (n1 < least || n2 < least || n3 < least || n4 < least) continue;
        const near = (total[e + w] - total[e]) / n3 - (total[e] - total[e - w]) / n2;
        const wide = (total[e + 2 * w] - total[e + w]) / n4 - (total[e - w] - total[e - 2 * w]) / n1;
        const weight = 1 / (1 / n2 + 1 / n3);
        const beyond = 1 / (2.25 / weight + 0.25 * (1 / n1 + 1 / n4));
        jumps += weight * near;
        weights += weight;
        jumpsBeyond += beyond * (1.5 * near - 0.5 * wide);
        weightsBeyond += beyond;
        had++;
      }
      if (had < Math.min(pieces, LEAST_PIECES)) continue;
      jump[WAYS * q][k] = jumps / weights;
      variance[WAYS * q][k] = 1 / weights;
      jump[WAYS * q + 1][k] = jumpsBeyond / weightsBeyond;
      variance[WAYS * q + 1][k] = 1 / weightsBeyond;
    }
  });
  return { from, jump, variance };
}

/** Points and sums of residuals before each offset, piece by piece of the line. */
function stripsAlong(
  cut: Cut,
  cells: Cells,
  sum: Float64Array,
): { from: number; pieces: number; row: number; held: Float64Array; total: Float64Array } {
  const { count, step, reach, points, x, y, chart, middle } = cells;
  const across = acrossOf(cut, cells);
  const far = reach * (1 + Math.abs(cut.bow)) + step;
  const bins = Math.ceil((2 * far) / step) + 1;
  const pieces = chart.isCurve ? 1 : PIECES;
  const [c, s] = [Math.cos(cut.turn), Math.sin(cut.turn)];
  const row = bins + 1;
  const held = new Float64Array(pieces * row);
  const total = new Float64Array(pieces * row);
  for (let i = 0; i < count; i++) {
    const t = across(x[i], y[i]);
    const along = c * (x[i] - middle[0]) + s * (y[i] - middle[1]);
    const piece = Math.min(pieces - 1, Math.floor(((along / reach + 1) / 2) * pieces));
    const place = piece * row + Math.floor((t + far) / step) + 1;
    held[place] += points[i];
    total[place] += sum[i];
  }
  for (let p = 0; p < pieces; p++) {
    for (let k = 1; k < row; k++) {
      held[p * row + k] += held[p * row + k - 1];
      total[p * row + k] += total[p * row + k - 1];
    }
  }
  return { from: -far, pieces, row, held, total };
}
