import { alikeAt, STEPS } from '../../noise/kernel-table.js';
import { mixtureOf } from '../../noise/mixture-kernel.js';
import type { NoiseModel } from '../../noise/scan-noise.js';
import type { Cells } from './cells.js';
import { trueToDistance } from './chart.js';

/**
 * Covariance, mm², that noise gives the shares of terms over cells: TᵀW½KW½T, with K the covariance of the cells' means. A mean over a
 * cell of side s draws a length l out to √(l² + s²/6), and what is under it is less by the square of their ratio: exact for the Gaussian kernel.
 */
export function explainedBy(
  { white, terms: noise }: NoiseModel,
  terms: readonly Float64Array[],
  { chart, count, points, x: across, y: up, step }: Cells,
): Float64Array {
  const m = terms.length;
  const covariance = new Float64Array(m * m);
  for (let a = 0; a < m; a++) covariance[a * (m + 1)] = white;
  const drawn = noise.map(({ kernel, length, variance }) => {
    const square = length * length + (step * step) / 6;
    return { kernel, length: Math.sqrt(square), variance: (variance * length * length) / square };
  });
  const mixture = mixtureOf(drawn);
  if (!mixture) return covariance;
  const {
    kernel: { table, reach },
    length,
    variance,
  } = mixture;
  const [x, y] = trueToDistance(chart, across, up);
  const weighed = terms.map((term) => term.map((value, c) => value * Math.sqrt(points[c])));
  const perLength = STEPS / length;
  const far = reach * length * (reach * length);
  for (let c = 0; c < count; c++) {
    for (let d = 0; d <= c; d++) {
      const [dx, dy] = [x[c] - x[d], y[c] - y[d]];
      const square = dx * dx + dy * dy;
      if (square >= far) continue;
      const alike = (d === c ? 0.5 : 1) * variance * alikeAt(table, Math.sqrt(square) * perLength);
      for (let a = 0; a < m; a++)
        for (let b = 0; b <= a; b++)
          covariance[a * m + b] += alike * (weighed[a][c] * weighed[b][d] + weighed[a][d] * weighed[b][c]);
    }
  }
  for (let a = 0; a < m; a++) for (let b = a + 1; b < m; b++) covariance[a * m + b] = covariance[b * m + a];
  return covariance;
}
