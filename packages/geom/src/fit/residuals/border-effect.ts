import type { FitForUncertainty } from '../uncertainty/correlated-noise/fit-for-uncertainty.js';
import { inverseInformation } from '../uncertainty/correlated-noise/solve.js';
import type { BorderBand } from './border.js';
import type { Chart } from './chart.js';
import type { SeenPoints } from './seen-points.js';

/** A band is left out as it was found and so many times as wide: what bends away may reach deeper than where it is clearest. */
const DEEPER = [1, 1.5, 2.5];

/**
 * How far the parameters move when the band is left out, (J_inᵀJ_in)⁻¹J_inᵀr_in, as the bounds of a distribution that is densest there
 * (arcsine, variance a²/2): of the widths tried the one that moves them most beside the fit's own covariance.
 */
export function borderCovariance(
  fit: FitForUncertainty,
  seen: SeenPoints,
  chart: Chart,
  { cells, width, depth, isAlong }: BorderBand,
  covariance: Float64Array,
): Float64Array {
  const m = fit.parameters;
  const row = new Float64Array(m);
  let most: { readonly size: number; readonly moved: Float64Array } | undefined;
  for (const times of DEEPER) {
    const information = new Float64Array(m * m);
    const pull = new Float64Array(m);
    for (let i = 0; i < chart.points.length; i++) {
      const c = cells.cellOf[i];
      if (isAlong[c] === 1 && depth[c] < times * width) continue;
      const at = seen.index[chart.points[i]];
      fit.gradient(at, row);
      for (let a = 0; a < m; a++) {
        pull[a] -= row[a] * fit.residuals[at];
        for (let b = 0; b < m; b++) information[a * m + b] += row[a] * row[b];
      }
    }
    const inverse = inverseInformation(information, m);
    const moved = pull.map((_, a) => pull.reduce((sum, p, b) => sum + inverse[a * m + b] * p, 0));
    const size = moved.reduce((sum, by, a) => sum + (by * by) / Math.max(covariance[a * (m + 1)], 1e-300), 0);
    if (size > (most?.size ?? -1)) most = { size, moved };
  }
  const { moved } = most!;
  return Float64Array.from({ length: m * m }, (_, k) => (moved[Math.floor(k / m)] * moved[k % m]) / 2);
}
