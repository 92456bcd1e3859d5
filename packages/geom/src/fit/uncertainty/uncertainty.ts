import type { Warning } from '../../error.js';
import { ANGLES, type Uncertainty } from '../../feature/uncertainty.js';
import { noiseNear } from '../../noise/noise-near.js';
import { countText, lengthText } from '../../text/number-text.js';
import type { FitForUncertainty } from './correlated-noise/fit-for-uncertainty.js';
import { gatherPatches } from './correlated-noise/patches.js';
import { randomPart } from './correlated-noise/random-part.js';

/** Patches a fit's points are summed into. */
const PATCHES = 64;
/** Ten times what scanners' noise is commonly alike over, some 4 mm (common practice, no source): such a feature shows its noise itself. */
const SHOWS_ITSELF = 40;
/** Share of a feature's extent from which on a correlation length leaves few independent pieces of noise. */
const LONG = 0.09;

/**
 * Standard uncertainty of a least-squares fit, from its own residuals and from the accuracy of the scanner. The error of the scan's scale is
 * not in it: {@link withScaleError} adds that.
 * Cost: sums over at most 16,384 of the points, and a bounded amount after it. Throws nothing.
 *
 * Warnings: `correlation-long` where neighbors err together over about a tenth of the feature or more, with a chance of at least one in
 * three, so that the residuals hold few independent pieces of noise; `no-redundancy` where there are no more points than parameters.
 */
export function fitUncertainty(fit: FitForUncertainty): Uncertainty {
  const { kind, at, axes, reach, parameters: m } = fit;
  const patches = gatherPatches(fit, PATCHES);
  const near = fit.noise && noiseNear(fit.noise, at, reach);
  const {
    covariance: random,
    degreesOfFreedom,
    correlationLength,
    perhapsLength,
    asMeasured = 0,
  } = randomPart(patches, near);
  const covariance = random.slice();
  const bound = fit.scanner?.accuracy ?? 0;
  const scale = parameterLengths(kind, reach);
  for (let a = 0; a < m; a++) covariance[a * m + a] += (bound / scale[a]) ** 2 / 3;
  const warnings: Warning[] = [];
  if (degreesOfFreedom === 0)
    warnings.push({
      code: 'no-redundancy',
      message:
        `${countText(fit.residuals.length)} points are no more than a ${kind} takes: nothing is left over to tell their noise by. ` +
        'Choose more points.',
    });
  if (fit.noise && !near && degreesOfFreedom > 0 && patches.span < SHOWS_ITSELF)
    warnings.push({
      code: 'noise-unknown',
      message:
        `Nothing tells the noise here: the scan has no smooth surface large enough to measure it on, and a ${kind} seen over ` +
        `${lengthText(Number(patches.span.toPrecision(3)))} does not show noise that its neighbors share over lengths near its own. Its uncertainty rests ` +
        'on its own points alone and may be far too small. State scanner.noise in the plan, or scan more of what is around it.',
    });
  const isLong = correlationLength > LONG * patches.span;
  if (perhapsLength > LONG * patches.span && asMeasured < 0.5)
    warnings.push({
      code: 'correlation-long',
      message:
        `Neighboring points ${isLong ? 'err' : 'may err'} together over some ` +
        `${lengthText(Number((isLong ? correlationLength : perhapsLength).toPrecision(2)))} of the ` +
        `${lengthText(Number(patches.span.toPrecision(3)))} that the ${kind} is seen over: few independent pieces of noise, so its ` +
        `uncertainty is told only roughly. Choose a larger region${fit.scanner?.accuracy ? '' : ', or state the accuracy of the scanner'}.`,
    });
  return {
    kind,
    at,
    axes,
    covariance,
    degreesOfFreedom,
    reach,
    random,
    correlationLength,
    ...(warnings.length > 0 && { warnings }),
  };
}

/** mm by which a unit of each parameter moves the feature's surface at its farthest: 1 for lengths, `reach` for angles. */
const parameterLengths = (kind: Uncertainty['kind'], reach: number): number[] =>
  ANGLES[kind].map((isAngle) => (isAngle ? reach : 1));
