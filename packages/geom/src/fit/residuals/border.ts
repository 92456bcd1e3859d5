import type { NoiseNear } from '../../noise/noise-near.js';
import { type Cells, cellsOf, sumOver } from './cells.js';
import type { Chart } from './chart.js';
import { depthsOf } from './depths.js';
import { explainedBy } from './explained.js';

/** A band along the region's border, or along a part of it, that bends away from the inside. */
export interface BorderBand {
  readonly cells: Cells;
  /** Side of a cell times this is how wide it is. */
  readonly width: number;
  /** How much farther off it lies than what is next to it goes on to, mm. */
  readonly height: number;
  readonly times: number;
  readonly depth: Float64Array;
  /** Of each cell, whether the band runs through its part of the border. */
  readonly isAlong: Uint8Array;
}

const CELLS = 1600;
const POINTS_EACH = 4;
/** Parts of the border by direction from the middle, and how many next to each other are taken together. */
const PARTS = 12;
const RUNS = [1, 3, PARTS];
/** Of bands, cells. */
const WIDTHS = [1, 2, 3, 4, 6, 8];
const LEAST_POINTS = 4;
/** Bends inside that the usual one is told by, at least. */
const LEAST_INSIDE = 8;
/** Bends so many times the usual one, or what the scan's noise gives. */
const BEND = 7.5;
const BEND_KNOWN = 6;

/**
 * The border beside the inside: how much a band at the border bends away from the two bands next to it (second difference of their means),
 * less what bands inside do, beside how much these differ from each other; where the scan's noise is known, beside what it gives.
 */
export function borderBand(
  chart: Chart,
  residual: Float64Array,
  isRound: boolean,
  noise: NoiseNear | undefined,
): BorderBand | undefined {
  const cells = cellsOf(chart, Math.min(CELLS, chart.points.length / POINTS_EACH));
  const depth = depthsOf(cells, isRound);
  const part = partsOf(cells, isRound);
  const bends = new Bends(cells, depth, part, sumOver(cells, residual));
  const least = bends.inside(1).usual;
  let best: BorderBand | undefined;
  for (const width of WIDTHS) {
    const { usual, count } = bends.inside(width);
    if (count < LEAST_INSIDE) break;
    for (const run of RUNS) {
      for (let from = 0; from < (run === PARTS ? 1 : PARTS); from++) {
        const parts = Array.from({ length: run }, (_, k) => (from + k) % PARTS);
        const bend = bends.atBorder(width, parts);
        if (!bend) continue;
        const own = Math.abs(bend.height) / Math.sqrt(bend.variance);
        let scale = Math.max(usual, least);
        let limit = BEND;
        if (noise && own > BEND_KNOWN * Math.sqrt(noise.white)) {
          scale = Math.max(least, Math.sqrt(bends.explained(width, parts, noise) / bend.alone));
          limit = BEND_KNOWN;
        }
        const times = (own / scale) * (BEND / limit);
        if (!(times > Math.max(BEND, best?.times ?? 0))) continue;
        const isAlong = Uint8Array.from(part, (p) => (parts.includes(p) ? 1 : 0));
        best = { cells, width, height: bend.height, times, depth, isAlong };
      }
    }
  }
  return best;
}

function partsOf({ x, y, middle, columns, rows, step }: Cells, isRound: boolean): Uint8Array {
  const [wide, tall] = [columns * step, rows * step];
  return Uint8Array.from(x, (at, c) => {
    const across = (at - middle[0]) / wide;
    const up = (y[c] - middle[1]) / tall;
    if (isRound) return Math.min(PARTS / 2 - 1, Math.floor((across + 0.5) * (PARTS / 2))) + (up < 0 ? 0 : PARTS / 2);
    return Math.min(PARTS - 1, Math.floor((Math.atan2(up, across) / (2 * Math.PI) + 0.5) * PARTS));
  });
}

interface Bend {
  readonly height: number;
  /** For white noise of unit variance. */
  readonly variance: number;
  /** The same of the bend at the border alone. */
  readonly alone: number;
}

/** Second differences of the means of bands, by part of the border. */
class Bends {
  readonly #cells: Cells;
  readonly #bin: Int32Array;
  readonly #part: Uint8Array;
  readonly #row: number;
  readonly #held: Float64Array;
  readonly #total: Float64Array;

  constructor(cells: Cells, depth: Float64Array, part: Uint8Array, sum: Float64Array) {
    this.#cells = cells;
    this.#part = part;
    this.#bin = Int32Array.from(depth, (d) => Math.min(Math.floor(d), 1 << 12));
    this.#row = this.#bin.reduce((most, b) => Math.max(most, b), 0) + 2;
    this.#held = new Float64Array(PARTS * this.#row);
    this.#total = new Float64Array(PARTS * this.#row);
    for (let c = 0; c < cells.count; c++) {
      const at = part[c] * this.#row + this.#bin[c] + 1;
      this.#held[at] += cells.points[c];
      this.#total[at] += sum[c];
    }
    for (let p = 0; p < PARTS; p++) {
      for (let k = 1; k < this.#row; k++) {
        this.#held[p * this.#row + k] += this.#held[p * this.#row + k - 1];
        this.#total[p * this.#row + k] += this.#total[p * this.#row + k - 1];
      }
    }
  }

  #at(part: number, from: number, width: number): Bend | undefined {
    if (from + 3 * width >= this.#row) return undefined;
    let [height, variance] = [0, 0];
    for (let k = 0; k < 3; k++) {
      const at = part * this.#row + from + k * width;
      const n = this.#held[at + width] - this.#held[at];
      if (n < LEAST_POINTS) return undefined;
      height += (k === 1 ? -2 : 1) * ((this.#total[at + width] - this.#total[at]) / n);
      variance += (k === 1 ? 4 : 1) / n;
    }
    return { height, variance, alone: variance };
  }

  /** Root mean square of all inside, in what white noise of unit variance would give. */
  inside(width: number): { usual: number; count: number } {
    let [squares, count] = [0, 0];
    for (let part = 0; part < PARTS; part++) {
      for (let from = width; from + 3 * width < this.#row; from++) {
        const bend = this.#at(part, from, width);
        if (!bend) continue;
        squares += (bend.height * bend.height) / bend.variance;
        count++;
      }
    }
    return { usual: Math.sqrt(squares / Math.max(1, count)), count };
  }

  /** The mean over parts of the border of how much more they bend there than inside. */
  atBorder(width: number, parts: readonly number[]): Bend | undefined {
    let [sum, weights, inner, innerWeights] = [0, 0, 0, 0];
    for (const part of parts) {
      const bend = this.#at(part, 0, width);
      if (!bend) continue;
      sum += bend.height / bend.variance;
      weights += 1 / bend.variance;
      for (let from = width; from + 3 * width < this.#row; from++) {
        const other = this.#at(part, from, width);
        if (!other) continue;
        inner += other.height / other.variance;
        innerWeights += 1 / other.variance;
      }
    }
    if (weights === 0 || innerWeights === 0) return undefined;
    return {
      height: sum / weights - inner / innerWeights,
      variance: 1 / weights + width / innerWeights,
      alone: 1 / weights,
    };
  }

  /** Variance that noise gives the bend at the border, mm². */
  explained(width: number, parts: readonly number[], noise: NoiseNear): number {
    const { points, count } = this.#cells;
    const weight = new Float64Array(PARTS);
    let all = 0;
    for (const part of parts) {
      const bend = this.#at(part, 0, width);
      if (bend) all += weight[part] = 1 / bend.variance;
    }
    const chosen: number[] = [];
    const term: number[] = [];
    for (let c = 0; c < count; c++) {
      const part = this.#part[c];
      const band = Math.floor(this.#bin[c] / width);
      if (weight[part] === 0 || band > 2) continue;
      const at = part * this.#row + band * width;
      const share = Math.sqrt(points[c]) / (this.#held[at + width] - this.#held[at]);
      chosen.push(c);
      term.push(((band === 1 ? -2 : 1) * share * weight[part]) / all);
    }
    const of = (values: Float64Array): Float64Array => Float64Array.from(chosen, (c) => values[c]);
    const { x, y } = this.#cells;
    const own = { ...this.#cells, count: chosen.length, points: of(points), x: of(x), y: of(y) };
    const terms = [Float64Array.from(term)];
    const white = term.reduce((sum, t) => sum + t * t, 0);
    return explainedBy({ ...noise, white: 0 }, terms, own)[0] + noise.white * white;
  }
}
