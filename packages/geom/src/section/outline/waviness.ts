import { power } from '../../math/power.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { fitFlat, shapeSums } from './fit.js';
import { type Outline, pathLength, withWave } from './places.js';
import { freedoms } from './shape.js';
import type { Stretch } from './split.js';

/** Noise an outline may have: white, and waves along it. */
export interface NoiseModel {
  /** Standard deviation of the white noise, mm. */
  readonly white: number;
  /** Of the waves, standard deviation, mm; 0: none. */
  readonly height: number;
  /** Over which they keep alike, mm (Matérn's length). */
  readonly length: number;
  /** How likely it is by the residuals, of all together 1. */
  readonly chance: number;
}

/** Waves along an outline. */
export interface Waves {
  /** The likeliest: standard deviation, mm. */
  readonly height: number;
  /** Over which they keep alike, mm (Matérn's length). */
  readonly length: number;
  /** All that are likely enough to count. */
  readonly models: readonly NoiseModel[];
}

export interface Waviness {
  /** Undefined where white noise explains the residuals as well. */
  readonly waves: Waves | undefined;
  /** Standard deviation of the white noise, mm. */
  readonly white: number;
  /** Twice the negative logarithm of the likelihood, up to a constant of the outline; what the shapes' freedoms cost is not in it. */
  readonly cost: number;
}

/** The outline with white noise and waves. */
export const wavyOutline = (
  plain: Outline,
  white: number,
  { height, length }: Pick<Waves, 'height' | 'length'>,
): Outline => withWave(plain, white, height / white, length);

/** Shortest length tried, in spacings of the points; longest, as a share of the outline. */
const SHORTEST = 2;
const LONGEST = 1 / 8;
/** Standard deviations of waves over that of the white noise, as powers of two. */
const LEAST = -2;
const MOST = 7;
/** Logarithm of how much likelier the residuals must be with waves, which have two numbers of their own, for waves to be seen. */
const SEEN = 4;
/** Models less likely than the best by more than this factor's logarithm do not count. */
const COUNTS = 5;

/**
 * Noise by the residuals of shapes fitted to stretches, each stretch for itself: white noise and waves of every length and height,
 * judged by restricted likelihood (Patterson & Thompson, Biometrika 58 (1971)): the fit has taken the long waves out of the
 * residuals, and what is left is judged by what could be left.
 *
 * @param floor least standard deviation of the white noise, mm
 * @param highest waves of a larger standard deviation are shape, mm
 * @param roughly for comparing chains: fewer lengths and heights, and of models the best only
 */
export function wavinessOf(
  outline: Outline,
  stretches: readonly Stretch[],
  floor: number,
  highest: number,
  roughly = false,
): Waviness {
  const { wave: _, ...plain } = outline;
  const judge = judgeOf(outline, stretches, floor);
  const none = judge(plain);
  const count = stretches.reduce((sum, { from, to }) => sum + to - from, 0);
  const total = stretches.reduce((sum, { from, to }) => sum + pathLength(outline, from, to), 0);
  const [wider, taller] = roughly ? [1.8, 1] : [1.4, 0.5];
  const tried: Judged[] = [];
  let octave = 1;
  for (let length = (SHORTEST * total) / count; length < LONGEST * total; length *= wider) {
    const { wave } = withWave(plain, 1, 1, length);
    const known = new Map<number, Judged>();
    const at = (p: number): Judged => {
      const judged = known.get(p) ?? judge({ ...plain, wave: { ...wave!, ratio: power(2, p) } });
      known.set(p, judged);
      return judged;
    };
    for (const step of [taller, -taller])
      while (octave + step >= LEAST && octave + step <= MOST && at(octave + step).log > at(octave).log) octave += step;
    if (!roughly)
      for (const step of [taller, -taller])
        for (let p = octave + step; p >= LEAST && p <= MOST && at(p).log > at(octave).log - COUNTS; ) p += step;
    for (const judged of known.values()) if (judged.height <= highest) tried.push(judged);
  }
  const best = tried.reduce((b, t) => (t.log > b.log ? t : b), none);
  if (best.log - none.log < SEEN) return { waves: undefined, white: none.white, cost: none.cost };
  const near = [none, ...tried].filter(({ log }) => log > best.log - COUNTS);
  const sum = near.reduce((s, { log }) => s + Math.exp(log - best.log), 0);
  const modelOf = ({ white, height, length, log }: Judged): NoiseModel => ({
    white,
    height,
    length,
    chance: Math.exp(log - best.log) / sum,
  });
  const { white, height, length, cost } = best;
  return { waves: { height, length, models: near.map(modelOf) }, white, cost };
}

interface Judged {
  readonly white: number;
  readonly height: number;
  readonly length: number;
  /** Twice the negative logarithm of the likelihood at the best shapes. */
  readonly cost: number;
  /** Logarithm of the restricted likelihood. */
  readonly log: number;
}

function judgeOf(outline: Outline, stretches: readonly Stretch[], floor: number): (model: Outline) => Judged {
  const shapes = stretches.map((s) => fitFlat(outline, s.shape, s.from, s.to));
  const count = stretches.reduce((sum, { from, to }) => sum + to - from, 0);
  const free = count - shapes.reduce((sum, s) => sum + freedoms(s), 0);
  return (model) => {
    let loss = 0;
    let unsure = 0;
    let information = 0;
    stretches.forEach(({ from, to }, k) => {
      const own = shapeSums(shapes[k], model, from, to);
      const parts = scaledCholesky(own.normal, own.right.length);
      unsure += own.unsure;
      loss += own.loss;
      if (!parts) return;
      const step = parts.solve(own.right);
      for (let p = 0; p < step.length; p++) loss -= step[p] * own.right[p];
      information += logDeterminant(own.normal, step.length);
    });
    const square = Math.max(0, loss);
    const among = Math.max(Math.sqrt(square / count), floor);
    const white = Math.max(Math.sqrt(square / free), floor);
    return {
      white,
      height: (model.wave?.ratio ?? 0) * white,
      length: model.wave?.length ?? 0,
      cost: square / among ** 2 + 2 * count * Math.log(among) + unsure,
      log: -(square / white ** 2 + 2 * free * Math.log(white) + unsure + information) / 2,
    };
  };
}

/** Of a positive definite matrix of m rows, by Cholesky's pivots; no pivot less than rounding leaves of it. */
function logDeterminant(matrix: Float64Array, m: number): number {
  const rest = Float64Array.from(matrix);
  let log = 0;
  for (let k = 0; k < m; k++) {
    const pivot = Math.max(rest[k * m + k], 1e-13 * matrix[k * m + k]);
    log += Math.log(pivot);
    for (let i = k + 1; i < m; i++)
      for (let j = k + 1; j < m; j++) rest[i * m + j] -= (rest[i * m + k] * rest[k * m + j]) / pivot;
  }
  return log;
}
