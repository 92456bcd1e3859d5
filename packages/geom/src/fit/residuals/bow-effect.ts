import type { FitForUncertainty } from '../uncertainty/correlated-noise/fit-for-uncertainty.js';
import { inverseInformation } from '../uncertainty/correlated-noise/solve.js';
import type { Bow } from './bow.js';
import { bowTerms, valuesAt } from './bow-terms.js';
import type { Chart } from './chart.js';
import type { SeenPoints } from './seen-points.js';

/** Points looked at: gradients vary slowly. */
const MOST = 1024;

/**
 * What a bow may have changed in the parameters: the feature meant may be the one that touches the surface at any place of the region, and
 * the fit is off that one by (JᵀJ)⁻¹Jᵀb with b the bow seen from there. Along each direction both ends are taken, as the bounds of a
 * distribution that is densest there (arcsine, variance a²/2). A surface rounder one way than the other may be meant either way.
 */
export function bowCovariance(fit: FitForUncertainty, seen: SeenPoints, chart: Chart, bow: Bow): Float64Array {
  const m = fit.parameters;
  const { middle, reach, x, y } = bow.cells;
  const step = Math.max(1, Math.ceil(chart.points.length / MOST));
  const chosen = Uint32Array.from({ length: Math.ceil(chart.points.length / step) }, (_, i) => i * step);
  const rows = Array.from(chosen, (i) => {
    const row = new Float64Array(m);
    fit.gradient(seen.index[chart.points[i]], row);
    return row;
  });
  const information = new Float64Array(m * m);
  for (const row of rows)
    for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) information[a * m + b] += row[a] * row[b];
  const inverse = inverseInformation(information, m);
  const covariance = new Float64Array(m * m);
  const add = (height: Float64Array, share: number): void => {
    const pull = new Float64Array(m);
    rows.forEach((row, i) => {
      for (let a = 0; a < m; a++) pull[a] += row[a] * height[i];
    });
    const moved = pull.map((_, a) => pull.reduce((sum, p, b) => sum + inverse[a * m + b] * p, 0));
    for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) covariance[a * m + b] += share * moved[a] * moved[b];
  };
  const places = [chart.x, chart.y].map((all) => Float64Array.from(chosen, (i) => all[i]));
  if (fit.kind === 'sphere') {
    const amount = Math.hypot(...bow.amounts) / reach / reach;
    add(
      places[0].map((at, i) => amount * ((at - middle[0]) ** 2 + (places[1][i] - middle[1]) ** 2)),
      1 / 2,
    );
    return covariance;
  }
  const { sought, isAlong } = bowTerms(fit.kind)!;
  [x, y].forEach((all, along) => {
    if (!isAlong[along]) return;
    for (const end of [Math.min(...all), Math.max(...all)]) {
      const at: [number, number] = [middle[0], middle[1]];
      at[along] = end;
      const values = valuesAt(
        sought,
        { middle: isAlong[0] ? at : [middle[0], at[1]], reach },
        places[0],
        places[1],
        chart.radius,
      );
      add(
        places[0].map((_, i) => values.reduce((sum, value, j) => sum + bow.amounts[j] * value[i], 0)),
        1 / 4,
      );
    }
  });
  return covariance;
}
