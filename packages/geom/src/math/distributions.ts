/**
 * Distributions that turn a standard uncertainty into an interval.
 *
 * The incomplete beta function by Lentz's continued fraction, the log gamma function by Lanczos' series (Press et al.,
 * "Numerical Recipes", 3rd ed., 6.1 and 6.4; coefficients g = 7, n = 9 by P. Godfrey): twelve digits or better.
 */

const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** ln Γ(x) for x > 0. */
export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const t = x + 6.5;
  let sum = LANCZOS[0];
  for (let i = 1; i < 9; i++) sum += LANCZOS[i] / (x + i - 1);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}

/** Regularized incomplete beta function I_x(a, b), for a, b > 0 and x in [0, 1]. */
export function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x));
  const tiny = 1e-300;
  const away = (value: number): number => (Math.abs(value) < tiny ? tiny : value);
  let c = 1;
  let d = 1 / away(1 - ((a + b) * x) / (a + 1));
  let fraction = d;
  for (let m = 1; m <= 500; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away(1 + even * d);
    c = away(1 + even / c);
    fraction *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away(1 + odd * d);
    c = away(1 + odd / c);
    const step = d * c;
    fraction *= step;
    if (Math.abs(step - 1) < 1e-15) break;
  }
  return (front * fraction) / a;
}

/** Chance that |t| exceeds `t` for Student's t with `degrees` degrees of freedom (Infinity: the normal distribution). */
export function studentTail(t: number, degrees: number): number {
  const x = Math.abs(t);
  if (x === Number.POSITIVE_INFINITY) return 0;
  if (degrees > 1e7) return upperGammaHalf((x * x) / 2);
  // Both forms are the same number; each is evaluated where it keeps its digits.
  const square = (x * x) / degrees;
  return square < 1
    ? 1 - incompleteBeta(square / (1 + square), 0.5, degrees / 2)
    : incompleteBeta(1 / (1 + square), degrees / 2, 0.5);
}

/**
 * Coverage factor: |t| stays within it with chance `confidence` for Student's t with `degrees` degrees of freedom, not
 * necessarily whole (JCGM 100, table G.2). Infinity degrees: the normal distribution. No degrees at all: Infinity.
 */
export function studentFactor(confidence: number, degrees: number): number {
  if (confidence <= 0) return 0;
  if (!(degrees > 0) || confidence >= 1) return Number.POSITIVE_INFINITY;
  return rootOfTail((t) => studentTail(t, degrees), 1 - confidence);
}

/** The t > 0 at which a falling `tail`, 1 at zero, reaches `share`. */
export function rootOfTail(tail: (t: number) => number, share: number): number {
  let low = 0;
  let high = 2;
  while (tail(high) > share && high < 1e150) {
    low = high;
    high *= 4;
  }
  for (let i = 0; i < 200 && high - low > 1e-14 * high; i++) {
    const middle = low > 0 && high > 4 * low ? Math.sqrt(low * high) : (low + high) / 2;
    if (tail(middle) > share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Q(1/2, x) = erfc(√x). */
function upperGammaHalf(x: number): number {
  const a = 0.5;
  const front = Math.exp(-x + a * Math.log(x) - logGamma(a));
  if (x === 0) return 1;
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < 500; n++) {
      term *= x / (a + n);
      sum += term;
      if (term < sum * 1e-16) break;
    }
    return 1 - sum * front;
  }
  let b = x + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < 500; n++) {
    const an = -n * (n - a);
    b += 2;
    d = 1 / (an * d + b);
    c = b + an / c;
    const step = d * c;
    fraction *= step;
    if (Math.abs(step - 1) < 1e-15) break;
  }
  return front * fraction;
}

/**
 * {@link studentTail} at a few nanoseconds, for sums over hundreds of terms: Wallace's transformation to the normal
 * distribution (Ann. Math. Stat. 30 (1959) 1121), within 1 % of t from 6 degrees on, below them the exact form.
 */
export function studentTailFast(t: number, degrees: number): number {
  if (degrees < 6) return studentTail(t, degrees);
  return normalTail(((8 * degrees + 1) / (8 * degrees + 3)) * Math.sqrt(degrees * Math.log1p((t * t) / degrees)));
}

/** Chance that |z| exceeds `z` ≥ 0 for the normal distribution, to 1.2e-7 of itself (Press et al., 6.2.2, erfccheb's short form). */
export function normalTail(z: number): number {
  const x = z * Math.SQRT1_2;
  const t = 1 / (1 + 0.5 * x);
  const series =
    -1.26551223 +
    t *
      (1.00002368 +
        t *
          (0.37409196 +
            t *
              (0.09678418 +
                t *
                  (-0.18628806 +
                    t * (0.27886807 + t * (-1.13520398 + t * (1.48851587 + t * (-0.82215223 + t * 0.17087277))))))));
  return t * Math.exp(-x * x + series);
}

/**
 * Half axis, in standard uncertainties, of the ellipse (`dimensions` 2) or ellipsoid that holds a whole vector with chance
 * `confidence` when its covariance is known with `degrees` degrees of freedom: √(d·F) with F of Fisher's distribution
 * (Hotelling 1931 with the covariance known up to scale). One dimension: {@link studentFactor}.
 */
export function jointFactor(confidence: number, dimensions: number, degrees: number): number {
  if (!(degrees > 0)) return Number.POSITIVE_INFINITY;
  const nu = Math.min(degrees, 1e7);
  return rootOfTail((x) => incompleteBeta(nu / (nu + x * x), nu / 2, dimensions / 2), 1 - confidence);
}
