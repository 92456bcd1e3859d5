import { innerPart } from './breaks.js';
import { splitAround } from './by-hand.js';
import type { Outline } from './places.js';
import { pricesOf, restartCost, type Stretch } from './split.js';
import { type Waves, type Waviness, wavinessOf, wavyOutline } from './waviness.js';

/** A chain whose residuals are waves and white noise. */
export interface WavyChain {
  readonly stretches: Stretch[];
  /** Standard deviation of the white noise, mm. */
  readonly white: number;
  readonly waves: Waves;
}

/**
 * Where the finest split leaves no waves and the coarser ones with theirs cost this much more, waves are not looked for further. Outlines
 * in white noise of 0.05 mm: coarser ones cost 250 to 850 more, or are no other; of hexagons with fillets of 3.5 mm 10 to 90 more. Those
 * that came out wavy: the finest left waves, or a coarser one cost less, by 6 to 450.
 */
const IN_VAIN = 40;

/**
 * By so much cheaper, at their own prices, waves win over white noise. Hexagons of 12 mm with fillets of 3.5 mm in white noise: 20
 * at most in 50 draws; in waves of 0.1 mm alike over 4 mm without fillets 50 and more.
 */
const SURELY = 40;

interface Candidate {
  readonly stretches: Stretch[];
  readonly waviness: Waviness;
  readonly cost: number;
}

/**
 * White noise supposed beside the scatter of neighboring points, in units of it: a split by the scatter takes waves for pieces, one by the
 * most takes short pieces for waves. Between them lies one near enough for the waves it leaves to be the true ones.
 */
const SUPPOSED = [2.5, 6, 15];
/** Splits after each other, each by the waves the one before it left. */
const ROUNDS = 4;

/**
 * The chain, with the waves its residuals tell of, that explains an outline best: by the likelihood of its residuals and the prices
 * of its pieces. Undefined where white noise explains it better.
 *
 * @param finest how it splits by white noise of `sigma`
 * @param picked pieces picked by hand
 * @param sigma scatter of neighboring points, mm
 * @param floor least standard deviation of the white noise, mm
 * @param highest waves of a larger standard deviation are shape, mm
 */
export function wavyChain(
  plain: Outline,
  finest: Stretch[],
  picked: readonly Stretch[],
  sigma: number,
  floor: number,
  highest: number,
  minimumPoints: number,
): WavyChain | undefined {
  const judged = new Map<string, Candidate>();
  const judge = (stretches: Stretch[], outline: Outline): Candidate => {
    const known = judged.get(nameOf(stretches));
    if (known) return known;
    const waviness = wavinessOf(outline, stretches, floor, highest, true);
    const candidate = { stretches, waviness, cost: waviness.cost + pricesFor(stretches, plain, waviness) };
    judged.set(nameOf(stretches), candidate);
    return candidate;
  };
  const coarser = coarserSplits(plain, finest, picked, sigma, minimumPoints);
  const first = judge(finest, plain);
  const wavy = coarser.map((start) => judge(start, plain)).filter(({ waviness }) => waviness.waves);
  const least = Math.min(...wavy.map(({ cost }) => cost));
  if (!first.waviness.waves && first.cost + IN_VAIN < least) return undefined;
  const tried: Waviness[] = [];
  for (const start of [finest, ...coarser]) {
    let { waviness } = judge(start, plain);
    for (let round = 0; round < ROUNDS && waviness.waves && !tried.some((t) => areAlike(t, waviness)); round++) {
      tried.push(waviness);
      const outline = wavyOutline(plain, waviness.white, waviness.waves);
      ({ waviness } = judge(splitAround(outline, picked, waviness.white, minimumPoints), outline));
    }
  }
  let best: Candidate | undefined;
  let plainest = Number.POSITIVE_INFINITY;
  for (const candidate of judged.values())
    if (!candidate.waviness.waves) plainest = Math.min(plainest, candidate.cost);
    else if (!best || candidate.cost < best.cost) best = candidate;
  if (!best) return undefined;
  const { stretches, waviness } = best;
  // Beside white noise, waves are given what makes breaks cheaper among them only where they explain far more: of outlines of short
  // pieces they take too much.
  const spare = Math.max(plainest - waviness.cost - pricesFor(stretches, plain), plainest - best.cost - SURELY);
  if (!waviness.waves || spare <= 0) return undefined;
  const rough = wavyOutline(plain, waviness.white, waviness.waves);
  const { waves, white } = wavinessOf(rough, stretches.map(innerPart), floor, highest);
  return waves && { stretches, white, waves };
}

const nameOf = (stretches: readonly Stretch[]): string =>
  stretches.map(({ from, to, shape }) => `${from} ${to} ${shape}`).join();

/** What white noise of more than sigma makes of the outline, the least of it first; none where it makes the same of it. */
function coarserSplits(
  plain: Outline,
  finest: readonly Stretch[],
  picked: readonly Stretch[],
  sigma: number,
  minimumPoints: number,
): Stretch[][] {
  const splitBy = (factor: number) => splitAround(plain, picked, factor * sigma, minimumPoints);
  const coarsest = splitBy(SUPPOSED.at(-1)!);
  // What chains cost is linear in the noise's square: one that is best by the least and by the most is best by all between.
  if (nameOf(finest) === nameOf(coarsest)) return [];
  return [...SUPPOSED.slice(0, -1).map(splitBy), coarsest];
}

/** Waves so alike that they split an outline alike. */
function areAlike(a: Waviness, b: Waviness): boolean {
  const near = (x: number, y: number) => Math.abs(x / y - 1) < 0.1;
  return near(a.white, b.white) && near(a.waves!.height, b.waves!.height) && near(a.waves!.length, b.waves!.length);
}

/** What the pieces of a chain cost, tangencies given back, less what the waves' going on past the breaks is worth. */
function pricesFor(stretches: readonly Stretch[], plain: Outline, { waves, white }: Partial<Waviness> = {}): number {
  const outline = waves ? wavyOutline(plain, white!, waves) : plain;
  const prices = pricesOf(outline);
  const restart = waves ? restartCost(outline, white!) : 0;
  const first = plain.closed && stretches.length > 1 ? stretches[0] : undefined;
  return stretches.reduce((sum, { shape }, k) => {
    const next = stretches[k + 1] ?? first;
    return sum + prices[shape] - (next && next.shape !== shape ? prices.tangency : 0) - (next ? restart : 0);
  }, 0);
}
