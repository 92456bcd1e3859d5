/** Numbers counted in equal bins. */
export interface Histogram {
  readonly counts: Float64Array;
  /** Middle of the first bin, and their width. */
  readonly low: number;
  readonly width: number;
}

/** Two normal distributions of one width. */
export interface TwoLevels {
  /** Of the lower and upper level. */
  readonly lower: number;
  readonly upper: number;
  /** Standard deviation of each. */
  readonly sigma: number;
  /** Share of the upper level. */
  readonly share: number;
  /** Twice the logarithm of how much likelier the numbers are than at one level, with tails as long as they show. */
  readonly gain: number;
}

/** A lesser share is that of strays, not of a level. */
const LEAST_SHARE = 0.12;
const STEPS = 40;
const STARTS = [0.5, 0.25, 0.75];

/** The likeliest two levels, by expectation and maximization (Dempster, Laird & Rubin, JRSS B 39 (1977) 1) from three shares. */
export function twoLevels(histogram: Histogram): TwoLevels | undefined {
  const { counts, low, width } = histogram;
  let [n, sum, squares] = [0, 0, 0];
  for (let k = 0; k < counts.length; k++) {
    const z = low + k * width;
    n += counts[k];
    sum += counts[k] * z;
    squares += counts[k] * z * z;
  }
  if (n < 8) return undefined;
  const mean = sum / n;
  const variance = squares / n - mean * mean;
  if (!(variance > width * width)) return undefined;
  const one = oneLevel(histogram, n, mean, variance);
  let best: TwoLevels | undefined;
  for (const share of STARTS) {
    const found = climb(histogram, n, mean, variance, share);
    const gain = 2 * (found.likelihood - one);
    if (gain > (best?.gain ?? 0)) best = { ...found.levels, gain };
  }
  return best;
}

/** Degrees of freedom of Student's t that tails are tried by, beside the normal distribution. */
const TAILS = [3, 8];

/** Logarithm of the likelihood of one level, less what all models here share: the likeliest of a normal and of Student's distributions. */
function oneLevel({ counts, low, width }: Histogram, n: number, mean: number, variance: number): number {
  let best = -0.5 * n * (Math.log(variance) + 1);
  for (const degrees of TAILS) {
    let [middle, own] = [mean, variance / 2];
    let likelihood = 0;
    for (let step = 0; step < STEPS; step++) {
      let [weights, sum, squares] = [0, 0, 0];
      likelihood = n * (STUDENT[degrees] - 0.5 * Math.log(own));
      for (let k = 0; k < counts.length; k++) {
        if (counts[k] === 0) continue;
        const z = low + k * width - middle;
        const far = 1 + (z * z) / (degrees * own);
        const weight = ((degrees + 1) / degrees / far) * counts[k];
        likelihood -= counts[k] * 0.5 * (degrees + 1) * Math.log(far);
        weights += weight;
        sum += weight * z;
        squares += weight * z * z;
      }
      middle += sum / weights;
      own = Math.max(width * width, squares / n);
    }
    best = Math.max(best, likelihood);
  }
  return best;
}
/** ln(√(2π)·Γ((ν+1)/2)/(Γ(ν/2)·√(νπ))): Student's density at its middle beside the normal one's. */
const STUDENT: Readonly<Record<number, number>> = {
  3: Math.log((2 * Math.SQRT2) / Math.sqrt(3 * Math.PI)),
  8: Math.log((105 * Math.sqrt(Math.PI)) / 192),
};

function climb(
  { counts, low, width }: Histogram,
  n: number,
  mean: number,
  variance: number,
  start: number,
): { levels: Omit<TwoLevels, 'gain'>; likelihood: number } {
  let share = start;
  // Levels whose spread about the mean makes up two thirds of the variance.
  const apart = Math.sqrt((0.66 * variance) / (share * (1 - share)));
  let lower = mean - share * apart;
  let upper = mean + (1 - share) * apart;
  let own = 0.34 * variance;
  let likelihood = 0;
  const least = width * width;
  for (let step = 0; step < STEPS; step++) {
    let [held, heldSum, otherSum, spread] = [0, 0, 0, 0];
    likelihood = 0;
    const ratio = Math.log(share / (1 - share));
    for (let k = 0; k < counts.length; k++) {
      if (counts[k] === 0) continue;
      const z = low + k * width;
      const a = (z - lower) ** 2;
      const b = (z - upper) ** 2;
      const odds = Math.exp(Math.min(700, ratio + (a - b) / (2 * own)));
      const r = odds / (1 + odds);
      likelihood += counts[k] * (Math.log1p(odds) + Math.log(1 - share) - a / (2 * own));
      held += counts[k] * r;
      heldSum += counts[k] * r * z;
      otherSum += counts[k] * (1 - r) * z;
      spread += counts[k] * (r * b + (1 - r) * a);
    }
    likelihood -= 0.5 * n * Math.log(own);
    const isLast = step === STEPS - 1;
    if (isLast) break;
    if (held > 0) upper = heldSum / held;
    if (held < n) lower = otherSum / (n - held);
    share = Math.min(1 - LEAST_SHARE, Math.max(LEAST_SHARE, held / n));
    own = Math.max(least, spread / n);
  }
  return { levels: { lower, upper, sigma: Math.sqrt(own), share }, likelihood };
}
