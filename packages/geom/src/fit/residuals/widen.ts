import type { Uncertainty } from '../../feature/uncertainty.js';
import { inverseInformation } from '../uncertainty/correlated-noise/solve.js';
import type { SeenPoints } from './seen-points.js';

/** What the parts of an error are told by. */
export interface Gradients {
  readonly parameters: number;
  gradient(i: number, out: Float64Array): void;
}

/** Points looked at: gradients vary slowly. */
const MOST = 2048;

/**
 * What it changes in the parameters if some of the points, with a share `part` of each, were taken by a pass that stands off: moved along
 * or turned by an amount of which the feature shows `size` mm, or the others so if that pass is the right one. Errors of the points b enter
 * the parameters as (JᵀJ)⁻¹Jᵀb; each pass may be right, so both are allowed for, as distributions that are densest at their bounds (arcsine,
 * variance a²/2): (P S Pᵀ + Q S Qᵀ)/2 with P = (JᵀJ)⁻¹J_partᵀJ_part, Q = 1 − P and S the squares of shifts of `size`, of turns of `size` over the reach.
 */
export function apartCovariance(
  { parameters: m, gradient }: Gradients,
  seen: SeenPoints,
  part: Float64Array,
  size: number,
  angles: readonly boolean[],
  reach: number,
): Float64Array {
  const whole = new Float64Array(m * m);
  const own = new Float64Array(m * m);
  const row = new Float64Array(m);
  const step = Math.max(1, Math.ceil(seen.count / MOST));
  for (let i = 0; i < seen.count; i += step) {
    gradient(seen.index[i], row);
    for (let a = 0; a < m; a++) {
      for (let b = 0; b < m; b++) {
        whole[a * m + b] += row[a] * row[b];
        own[a * m + b] += part[i] * row[a] * row[b];
      }
    }
  }
  const inverse = inverseInformation(whole, m);
  const sides = [own, whole.map((x, k) => x - own[k])];
  const covariance = new Float64Array(m * m);
  for (const side of sides) {
    const moved = Array.from({ length: m }, (_, c) =>
      Array.from({ length: m }, (_, a) => {
        let sum = 0;
        for (let b = 0; b < m; b++) sum += inverse[a * m + b] * side[b * m + c];
        return sum * (angles[c] ? size / reach : size);
      }),
    );
    for (const by of moved)
      for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) covariance[a * m + b] += (by[a] * by[b]) / 2;
  }
  return covariance;
}

/** The uncertainty with another term, which is not random. */
export const widened = (uncertainty: Uncertainty, by: Float64Array): Uncertainty => ({
  ...uncertainty,
  covariance: uncertainty.covariance.map((c, k) => c + by[k]),
  random: uncertainty.random ?? uncertainty.covariance,
});
