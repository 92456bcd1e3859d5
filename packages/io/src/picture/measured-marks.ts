import {
  centerOf,
  type Feature,
  preparedScan,
  type Results,
  type Scan,
  type StepOutcome,
  type Vec3,
} from '@fettle/geom';
import type { PictureBalloon } from './picture-balloons.js';
import type { TintedRegion } from './shade.js';
import { TINTS } from './tint.js';

/** What results add to a picture of their scan: a tint and a balloon for each measured feature. */
export interface MeasuredMarks {
  readonly regions: readonly TintedRegion[];
  readonly balloons: readonly PictureBalloon[];
}

/**
 * Marks for all fits, constructed features and frames, with the balloon numbers of the job sheet. Fits to sections, and those made before
 * the plan's last step that changes the scan, have no points of it: they are marked at their centers. Needs results with outcomes.
 *
 * @param scan as it was given to the plan; the picture is to be of `preparedScan(results.outcomes, scan)`
 */
export function measuredMarks(results: Results, scan: Scan): MeasuredMarks {
  const numbers = new Map(results.sheet.map(({ id, balloon }) => [id, balloon]));
  const toSections = new Set(results.outcomes.filter(({ kind }) => kind === 'section').map(({ id }) => id));
  const steps = new Map(results.plan.steps.map((step) => [step.id, step]));
  const drawn = preparedScan(results.outcomes, scan);
  const regions: TintedRegion[] = [];
  const balloons: PictureBalloon[] = [];
  for (const outcome of results.outcomes) {
    const number = numbers.get(outcome.id);
    if (number === undefined) continue;
    const step = steps.get(outcome.id);
    const isOnScan =
      outcome.kind === 'fit' &&
      !(step?.step === 'fit' && toSections.has(step.to)) &&
      preparedScan(results.outcomes, scan, outcome.id) === drawn;
    if (isOnScan) {
      regions.push({ select: outcome.fit.used, tint: TINTS[regions.length % TINTS.length]! });
      balloons.push({ number, points: outcome.fit.used });
      continue;
    }
    const at = placeOf(outcome);
    if (at) balloons.push({ number, at });
  }
  return { regions, balloons };
}

/** A place to point at, of what has one: a center, or the middle of what the feature was made from. */
function placeOf(outcome: StepOutcome): Vec3 | undefined {
  if (outcome.kind === 'frame') return outcome.frame.origin;
  if (outcome.kind === 'fit') return featurePlace(outcome.fit.feature) ?? outcome.fit.uncertainty.at;
  return outcome.kind === 'construct' ? (featurePlace(outcome.feature) ?? outcome.uncertainty?.at) : undefined;
}

function featurePlace(feature: Feature): Vec3 | undefined {
  const hasCenter = feature.kind === 'point' || feature.kind === 'cone' || 'center' in feature;
  return hasCenter ? centerOf(feature).position : undefined;
}
