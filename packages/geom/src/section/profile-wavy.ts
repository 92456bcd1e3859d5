import { innerPart } from './profile-breaks.js';
import { splitAround } from './profile-by-hand.js';
import type { Outline } from './profile-outline.js';
import { pricesOf, restartCost, type Stretch } from './profile-split.js';
import { type Waves, type Waviness, wavinessOf, wavyOutline } from './profile-waviness.js';

/** A chain whose residuals are waves and white noise. */
export interface WavyChain {
  readonly stretches: Stretch[];
  /** Standard deviation of the white noise, mm. */
  readonly white: number;
  readonly waves: Waves;
}

interface Candidate {
  readonly stretches: Stretch[];
  readonly waviness: Waviness;
  readonly cost: number;
}

/**
 * White noise supposed at first, over what neighboring points scatter: a split by the least takes waves for pieces, a split by the
 * most takes short pieces for waves. Between them lies one near enough for the waves it leaves to be the true ones.
 */
const SUPPOSED = [1, 2.5, 6, 15];
/** Splits after each other, each by the waves the one before it left. */
const ROUNDS = 4;

/**
 * The chain, with the waves its residuals tell of, that explains an outline best: by the likelihood of its residuals and the prices
 * of its pieces. Undefined where white noise explains it better.
 *
 * @param picked pieces picked by hand
 * @param sigma scatter of neighboring points, mm
 * @param floor least standard deviation of the white noise, mm
 * @param highest waves of a larger standard deviation are shape, mm
 */
export function wavyChain(
  plain: Outline,
  picked: readonly Stretch[],
  sigma: number,
  floor: number,
  highest: number,
  minimumPoints: number,
): WavyChain | undefined {
  const chainOf = (outline: Outline, white: number): Candidate => {
    const stretches = splitAround(outline, picked, white, minimumPoints);
    const waviness = wavinessOf(outline, stretches, floor, highest, true);
    return { stretches, waviness, cost: waviness.cost + pricesFor(stretches, plain, waviness) };
  };
  const nameOf = ({ stretches }: Candidate) => stretches.map(({ from, shape }) => `${from} ${shape}`).join();
  const seen = new Set<string>();
  let best: Candidate | undefined;
  let plainest = Number.POSITIVE_INFINITY;
  for (const factor of SUPPOSED) {
    let chain = chainOf(plain, factor * sigma);
    for (let round = 0; round <= ROUNDS && !seen.has(nameOf(chain)); round++) {
      seen.add(nameOf(chain));
      const { waves, white } = chain.waviness;
      if (!waves) {
        plainest = Math.min(plainest, chain.cost);
        break;
      }
      if (!best || chain.cost < best.cost) best = chain;
      chain = chainOf(wavyOutline(plain, white, waves), white);
    }
  }
  if (!best) return undefined;
  const { stretches, waviness } = best;
  // Beside white noise, waves are not given what makes breaks cheaper among them: of outlines of short pieces they take too much.
  if (!waviness.waves || waviness.cost + pricesFor(stretches, plain) >= plainest) return undefined;
  const rough = wavyOutline(plain, waviness.white, waviness.waves);
  const { waves, white } = wavinessOf(rough, stretches.map(innerPart), floor, highest);
  return waves && { stretches, white, waves };
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
