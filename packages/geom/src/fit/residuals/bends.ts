import type { Uncertainty } from '../../feature/uncertainty.js';
import { noiseNear } from '../../noise/noise-near.js';
import { countText, placeText } from '../../text/number-text.js';
import type { FitForUncertainty } from '../uncertainty/correlated-noise/fit-for-uncertainty.js';
import { borderBand } from './border.js';
import { borderCovariance } from './border-effect.js';
import { bowOf } from './bow.js';
import { bowCovariance } from './bow-effect.js';
import type { Chart } from './chart.js';
import type { SeenPoints } from './seen-points.js';
import { placeOf, told, withWarning } from './sign-words.js';
import { widened } from './widen.js';

/** Points of another surface at the region's border. Warning: `border-off`. */
export function withBorder(
  uncertainty: Uncertainty,
  fit: FitForUncertainty,
  charts: readonly Chart[],
  seen: SeenPoints,
  least: number,
): Uncertainty {
  const [chart] = charts;
  if (!chart || chart.isCurve || (fit.kind === 'sphere' && charts.length > 1)) return uncertainty;
  const near = fit.noise && noiseNear(fit.noise, fit.at, fit.reach);
  const band = borderBand(chart, seen.residual, charts.length > 1, near);
  if (!band || Math.abs(band.height) < least) return uncertainty;
  const { cells, width, height, times, depth, isAlong } = band;
  const inBand = Array.from(cells.cellOf.keys()).filter(
    (i) => isAlong[cells.cellOf[i]] && depth[cells.cellOf[i]] < width,
  );
  const isAllRound = isAlong.every((along) => along === 1);
  const middle = seen.index[chart.points[inBand[inBand.length >> 1]]];
  const share = Math.max(1, Math.round((100 * inBand.length) / chart.points.length));
  return withWarning(widened(uncertainty, borderCovariance(fit, seen, chart, band, uncertainty.covariance)), {
    code: 'border-off',
    message:
      `${isAllRound ? 'All along its border' : `At its border by ${placeText(placeOf(fit, middle))}`} the region of the ${fit.kind} bends away ` +
      `by ${told(Math.abs(height))}, over a band of some ${told(width * cells.step)} that holds ${share} % of its points, ` +
      `${countText(Math.round(times))} times as much as inside: it seems to hold points of another surface there. The ± allows for what ` +
      'leaving them out changes. Choose a region that ends before its edge.',
  });
}

/** A surface that bows. Warning: `surface-bowed`. */
export function withBow(
  uncertainty: Uncertainty,
  fit: FitForUncertainty,
  charts: readonly Chart[],
  seen: SeenPoints,
  least: number,
): Uncertainty {
  if (fit.kind === 'sphere' && charts.length > 1) return uncertainty;
  const near = fit.noise && noiseNear(fit.noise, fit.at, fit.reach);
  const bow = bowOf(fit.kind, charts[0], seen.residual, near);
  if (!bow || bow.height < least) return uncertainty;
  return withWarning(widened(uncertainty, bowCovariance(fit, seen, charts[0], bow)), {
    code: 'surface-bowed',
    message:
      `The points of the ${fit.kind} bow by ${told(bow.height)} over ${told(bow.over)}, ` +
      `${countText(Math.round(bow.times))} times what noise explains: the surface is no ${fit.kind} to that. The ± allows for the ` +
      `${fit.kind} that touches it at any place of the region. Choose a region where the part is flat or round to what you need.`,
  });
}
