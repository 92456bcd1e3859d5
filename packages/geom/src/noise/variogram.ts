import { type Basis, polynomialBasis } from './polynomial.js';
import type { SurfaceSample } from './surface-sample.js';

/** Half the mean squared difference of the residuals of two points, by how far apart they are. */
export interface Variogram {
  /** Mean distance of the pairs, mm, ascending. */
  readonly lag: Float64Array;
  /** mm² */
  readonly half: Float64Array;
  readonly pairs: Float64Array;
}

const LAGS = 18;
/** Pairs a lag has at least. */
const LEAST = 60;

/** How finely squares of distances are told apart when their lag is looked up, in the square of the shortest. */
const FINE = 0.25;

/** Lags in even steps of their logarithm from `shortest` to `longest`, mm. */
export function variogramOf({ places, residuals }: SurfaceSample, shortest: number, longest: number): Variogram {
  const lag = new Float64Array(LAGS);
  const half = new Float64Array(LAGS);
  const pairs = new Float64Array(LAGS);
  const to = longest * longest;
  const perUnit = 1 / (FINE * shortest * shortest);
  const perStep = LAGS / Math.log((longest / shortest) * (longest / shortest));
  const lagOf = Int8Array.from({ length: Math.ceil(to * perUnit) + 1 }, (_, i) => {
    const step = Math.log(Math.max(i + 0.5, 1e-9) * FINE) * perStep;
    return step < 0 ? -1 : Math.min(LAGS - 1, Math.floor(step));
  });
  for (let i = 0; i < residuals.length; i++) {
    const x = places[3 * i];
    const y = places[3 * i + 1];
    const z = places[3 * i + 2];
    const r = residuals[i];
    for (let j = 0; j < i; j++) {
      const dx = places[3 * j] - x;
      const dy = places[3 * j + 1] - y;
      const dz = places[3 * j + 2] - z;
      const square = dx * dx + dy * dy + dz * dz;
      if (square >= to) continue;
      const k = lagOf[(square * perUnit) | 0];
      if (k < 0) continue;
      const d = residuals[j] - r;
      lag[k] += Math.sqrt(square);
      half[k] += d * d;
      pairs[k]++;
    }
  }
  const kept = Array.from(lag.keys()).filter((k) => pairs[k] >= LEAST);
  return {
    lag: Float64Array.from(kept, (k) => lag[k] / pairs[k]),
    half: Float64Array.from(kept, (k) => half[k] / pairs[k] / 2),
    pairs: Float64Array.from(kept, (k) => pairs[k]),
  };
}

/** Points by which it is told what taking the shape out does to the noise. */
const POINTS = 220;

/**
 * What the variogram of noise of unit variance becomes when the shape has been taken out of it by least squares: the longer the noise,
 * the more of it went with the shape. With M = I − QQᵀ the residuals' covariance is MKM.
 */
export class Expectation {
  readonly #basis: Basis;
  readonly #size: number;
  /** Distance of points i and j < i, mm, in the order (1,0), (2,0), (2,1) … */
  readonly #apart: Float64Array;
  readonly #bin: Int16Array;
  readonly #lag: Float64Array;
  readonly #pairs: Float64Array;

  constructor(sample: SurfaceSample, { lag }: Variogram) {
    const every = Math.max(1, sample.spread / POINTS);
    const chosen: number[] = [];
    for (let i = 0; i < sample.spread; i += every) chosen.push(Math.floor(i));
    const n = chosen.length;
    this.#size = n;
    this.#lag = lag;
    this.#basis = polynomialBasis(
      Float64Array.from(chosen.flatMap((i) => [sample.flat[2 * i], sample.flat[2 * i + 1]])),
      sample.order,
    );
    this.#apart = new Float64Array((n * (n - 1)) / 2);
    this.#bin = new Int16Array((n * (n - 1)) / 2);
    this.#pairs = new Float64Array(lag.length);
    const borders = Float64Array.from({ length: lag.length - 1 }, (_, k) => Math.sqrt(lag[k] * lag[k + 1]));
    let pair = 0;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        const [a, b] = [3 * chosen[i], 3 * chosen[j]];
        const { places } = sample;
        const d = Math.hypot(places[a] - places[b], places[a + 1] - places[b + 1], places[a + 2] - places[b + 2]);
        let k = 0;
        while (k < borders.length && d > borders[k]) k++;
        if (d > 1.3 * lag[lag.length - 1]) k = -1;
        this.#apart[pair] = d;
        this.#bin[pair++] = k;
        if (k >= 0) this.#pairs[k]++;
      }
    }
  }

  /**
   * At each lag, for noise of unit variance.
   *
   * @param alike covariance of two points by their distance, mm
   * @param itself variance of one
   */
  of(alike: (distance: number) => number, itself = 1): Float64Array {
    const n = this.#size;
    const { functions: f, values: q } = this.#basis;
    // K·Q between different points; over the surface a point beside itself weighs nothing.
    const kq = new Float64Array(n * f);
    const rho = new Float64Array(this.#apart.length);
    let pair = 0;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        const r = alike(this.#apart[pair]);
        rho[pair++] = r;
        if (r < 1e-9) continue;
        for (let c = 0; c < f; c++) {
          kq[i * f + c] += r * q[j * f + c];
          kq[j * f + c] += r * q[i * f + c];
        }
      }
    }
    const inner = new Float64Array(f * f);
    for (let i = 0; i < n; i++)
      for (let a = 0; a < f; a++) for (let b = 0; b < f; b++) inner[a * f + b] += q[i * f + a] * kq[i * f + b];
    // (MKM)ᵢⱼ = Kᵢⱼ − tᵢ·qⱼ − qᵢ·tⱼ with t = KQ − Q·(QᵀKQ)/2.
    const t = kq;
    for (let i = 0; i < n; i++) {
      for (let b = 0; b < f; b++) {
        let sum = 0;
        for (let a = 0; a < f; a++) sum += q[i * f + a] * inner[a * f + b];
        t[i * f + b] -= sum / 2;
      }
    }
    const sums = new Float64Array(this.#lag.length);
    pair = 0;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        const k = this.#bin[pair];
        pair++;
        if (k < 0) continue;
        let lost = 0;
        for (let c = 0; c < f; c++) lost += (t[i * f + c] - t[j * f + c]) * (q[i * f + c] - q[j * f + c]);
        sums[k] += lost;
      }
    }
    return this.#atLags((lag) => itself - alike(lag), sums);
  }

  /** Half the mean squared difference without taking anything out, less what taking out loses; near lags lose as the square of it. */
  #atLags(plain: (lag: number) => number, lost: Float64Array): Float64Array {
    const first = this.#pairs.findIndex((pairs) => pairs >= LEAST);
    return this.#lag.map((lag, k) => {
      const from = Math.max(k, first);
      const loss = this.#pairs[from] > 0 ? lost[from] / this.#pairs[from] : 0;
      const near = k < first ? (lag / this.#lag[first]) ** 2 : 1;
      return Math.max(0, plain(lag) - loss * near);
    });
  }
}
