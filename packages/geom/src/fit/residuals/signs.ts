import type { Warning } from '../../error.js';
import { ANGLES, type Uncertainty } from '../../feature/uncertainty.js';
import { type NoiseNear, noiseNear } from '../../noise/noise-near.js';
import { countText, placeText } from '../../text/number-text.js';
import { digitsOf } from '../solve/coordinate-step.js';
import type { FitForUncertainty } from '../uncertainty/correlated-noise/fit-for-uncertainty.js';
import { withBorder, withBow } from './bends.js';
import { type Chart, chartsOf } from './chart.js';
import { type Layers, twoLayers } from './layers.js';
import { type SeenPoints, seenPoints } from './seen-points.js';
import { placeOf, told, withWarning } from './sign-words.js';
import { largestStep, type Step } from './steps.js';
import { apartCovariance, widened } from './widen.js';

/** Fewer points tell nothing of passes. */
const LEAST_POINTS = 150;
/** Of clean noise, white and alike over lengths, at most two in a hundred have a jump so many times the usual: on surfaces, on curves. */
const STEP = 5.75;
const STEP_ON_CURVE = 4.8;
/** And where it must be as many times the scan's known noise besides. */
const STEP_KNOWN = 5.2;
const STEP_KNOWN_ON_CURVE = 4.4;
/** And residuals that much likelier at two levels, which stand at least so many of their standard deviations apart. */
const LAYERS = 30;
const APART = 1.8;
/** Less than so many last digits of the coordinates is rounding: of digits written, and of single precision. */
const DIGITS = 1.5;
const SINGLE = 8 * 2 ** -23;

/**
 * What a scan has that models of noise lack, seen in a fit's residuals: passes that meet in a step, and passes that overlap in two
 * layers; borders that bend away and bows (bends.ts). Each is warned of, and adds what it may change in the parameters to the uncertainty.
 *
 * Warnings: `stitching-step`, `double-layer`, `border-off`, `surface-bowed`.
 */
export function withSigns(uncertainty: Uncertainty, fit: FitForUncertainty): Uncertainty {
  if (fit.residuals.length < LEAST_POINTS || uncertainty.kind === 'frame') return uncertainty;
  const seen = seenPoints(fit);
  if (!(seen.sigma > 0)) return uncertainty;
  const charts = chartsOf(fit.kind, seen);
  const least = leastHeight(fit, seen);
  const near = fit.noise && noiseNear(fit.noise, fit.at, fit.reach);
  const signs = [layersSign(charts, fit, seen), stepSign(charts, fit, seen, near)];
  const ofPasses = signs.reduce<Uncertainty>((sofar, sign) => {
    if (!sign || sign.size < least) return sofar;
    const by = apartCovariance(fit, seen, sign.part, sign.size, ANGLES[fit.kind], fit.reach);
    return withWarning(widened(sofar, by), sign.warning);
  }, uncertainty);
  // Steps and layers leave bows behind in a fit's residuals, and so do borders that bend away.
  const ofBorder = withBorder(ofPasses, fit, charts, seen, least);
  if (ofBorder !== ofPasses || signs.some((sign) => sign && sign.size >= least)) return ofBorder;
  return withBow(ofPasses, fit, charts, seen, least);
}

/** A part of the points that another pass may have taken. */
interface Sign {
  readonly warning: Warning;
  /** How far it stands off, mm. */
  readonly size: number;
  /** Share of each point of the sample that is of it. */
  readonly part: Float64Array;
}

function stepSign(
  charts: readonly Chart[],
  fit: FitForUncertainty,
  seen: SeenPoints,
  noise: NoiseNear | undefined,
): Sign | undefined {
  let found: { step: Step; chart: Chart } | undefined;
  for (const chart of charts) {
    const step = largestStep(chart, seen.residual, noise);
    const onCurve = noise ? STEP_KNOWN_ON_CURVE : STEP_ON_CURVE;
    const least = chart.isCurve ? onCurve : noise ? STEP_KNOWN : STEP;
    if (step && step.times > (found?.step.times ?? least)) found = { step, chart };
  }
  if (!found) return undefined;
  const { step, chart } = found;
  const part = new Float64Array(seen.count);
  let nearest = 0;
  let least = Infinity;
  let beyond = 0;
  for (let i = 0; i < chart.points.length; i++) {
    const off = step.beyond(chart.x[i], chart.y[i]);
    if (off > 0) {
      part[chart.points[i]] = 1;
      beyond++;
    }
    // Where the line is nearest the middle, so that the place is not one at the border.
    const far = Math.abs(off) + 0.2 * Math.hypot(chart.x[i] - step.middle[0], chart.y[i] - step.middle[1]);
    if (far < least) [least, nearest] = [far, chart.points[i]];
  }
  const share = Math.round((100 * Math.min(beyond, chart.points.length - beyond)) / seen.count);
  const size = Math.abs(step.height);
  return {
    size,
    part,
    warning: {
      code: 'stitching-step',
      message:
        `Along a line by ${placeText(placeOf(fit, seen.index[nearest]))} the points of the ${fit.kind} jump by ${told(size)}, ` +
        `${countText(Math.round(step.times))} times as much as elsewhere: two passes of the scan, or two surfaces, seem to meet there ` +
        `(${share} % of the points on the lesser side). The ± allows for either being right. Choose points of one of them alone.`,
    },
  };
}

function layersSign(charts: readonly Chart[], fit: FitForUncertainty, seen: SeenPoints): Sign | undefined {
  let found: { layers: Layers; chart: Chart } | undefined;
  for (const chart of charts) {
    const layers = twoLayers(chart, seen.residual);
    if (!layers || layers.levels.upper - layers.levels.lower < APART * layers.levels.sigma) continue;
    if (layers.levels.gain > (found?.layers.levels.gain ?? LAYERS)) found = { layers, chart };
  }
  if (!found) return undefined;
  const { layers, chart } = found;
  const { upper, lower, share } = layers.levels;
  const isUpper = isUpperTheLess(layers, chart, seen);
  const ofLess = isUpper ? share : 1 - share;
  const part = new Float64Array(seen.count);
  let twofold = 0;
  for (let i = 0; i < chart.points.length; i++) {
    if (layers.isTwofold[i] === 0) continue;
    part[chart.points[i]] = ofLess;
    twofold++;
  }
  if (twofold === 0) return undefined;
  const size = upper - lower;
  return {
    size,
    part,
    warning: {
      code: 'double-layer',
      message:
        `Over ${Math.round((100 * twofold) / chart.points.length)} % of the ${fit.kind} the points lie in two layers ${told(size)} apart, ` +
        `${Math.round(100 * share)} % of them in the upper one: overlapping passes of the scan that do not agree. The ± allows for either ` +
        `being right. If one is to be left out, the ${isUpper ? 'upper' : 'lower'} one, which holds fewer points or stands off from the rest.`,
    },
  };
}

/** The layer that the points where there is one do not go on in; where there are two all over, the one of fewer points. */
function isUpperTheLess({ levels, isTwofold, deviation }: Layers, chart: Chart, seen: SeenPoints): boolean {
  let [single, singleSum, twofold, middle] = [0, 0, 0, 0];
  for (let i = 0; i < isTwofold.length; i++) {
    const r = seen.residual[chart.points[i]];
    if (isTwofold[i] === 1) {
      twofold++;
      middle += r - deviation[i];
    } else {
      single++;
      singleSum += r;
    }
  }
  if (single < 0.1 * (single + twofold)) return levels.share < 0.5;
  const level = singleSum / single - middle / twofold;
  return Math.abs(level - levels.lower) < Math.abs(level - levels.upper);
}

/** Heights below this are those of the digits the points were written with, mm. */
function leastHeight({ positions, used, axes, kind }: FitForUncertainty, { index, count }: SeenPoints): number {
  let least = 0;
  const sample = Math.min(count, 512);
  for (let a = 0; a < 3; a++) {
    const values = Float64Array.from({ length: sample }, (_, s) => {
      const i = index[Math.floor((s * count) / sample)];
      return positions[3 * (used ? used[i] : i) + a];
    }).sort();
    const size = Math.max(Math.abs(values[0]), Math.abs(values[sample - 1]));
    const across = kind === 'plane' ? Math.abs(axes[2][a]) : 1;
    least = Math.max(least, DIGITS * digitsOf(values) * across, SINGLE * size * across);
  }
  return least;
}
