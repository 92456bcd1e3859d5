import { derive, rootOf, SCALE, type Uncertain, uncertaintyOf } from '../../../construct/propagate.js';
import type { Feature, Point } from '../../../feature/feature.js';
import { centerOf } from '../../../feature/roles.js';
import { expandedNumber } from '../../../fit/uncertainty/expanded.js';
import { distance, type Vec3 } from '../../../math/vec3.js';
import { type LengthCheck, scaleByKnownLength } from '../../../prepare/known-length.js';
import { pointIndex } from '../../../scan/point-index.js';
import { surfaceNoise } from '../../../scan/surface-noise.js';
import type { Context } from '../../step/context.js';
import type { ScaleStep } from './schema.js';

/** Points about a place that tell the noise of the one there. */
const ABOUT = 20;
/** 95 % of a normal distribution. */
const COVERAGE = 1.96;

/** The known length held against the scan: between centers of features, or the scan points nearest to places. */
export function checkKnownLength(step: ScaleStep, context: Context): LengthCheck {
  const { between, ...known } = step.scale;
  const frame = context.frame(step.in).value;
  const [a, b] = between.map((of) =>
    typeof of === 'string' ? context.feature(of) : scanPoint(frame.toScan(of), context),
  ) as [Uncertain<Feature>, Uncertain<Feature>];
  const ends = [centerOf(a.value).position, centerOf(b.value).position] as const;
  return scaleByKnownLength(context.scan, { between: ends, ...known, measuredStandard: ownStandard(a, b) });
}

/**
 * Standard uncertainty of how far apart two features are, without the error of the scan's scale: that is what the length is to mend.
 * Few degrees of freedom make it larger, as they do any ±.
 */
function ownStandard(a: Uncertain<Feature>, b: Uncertain<Feature>): number {
  const between = derive([a, b], (p, q) => distance(centerOf(p).position, centerOf(q).position));
  if (between.roots.size === 0 || between.value === 0) return 0;
  const { sources, ...told } = uncertaintyOf(between);
  const standard = Math.hypot(...sources.filter(({ root }) => root !== SCALE).map((source) => source.standard));
  return expandedNumber({ ...told, standard }).value / COVERAGE;
}

/** The scan's point nearest to a place, with the noise of the points about it and the accuracy of the scanner. */
function scanPoint(place: Vec3, { scan, scanner }: Context): Uncertain<Point> {
  const index = pointIndex(scan);
  const { position } = index.nearest(place)!;
  const noise = surfaceNoise(scan.positions, index.nearestPoints(position, ABOUT));
  const variance = noise ** 2 + (scanner?.accuracy ?? 0) ** 2 / 3;
  return rootOf(`point at ${position.join(', ')}`, {
    feature: { kind: 'point', position },
    uncertainty: {
      kind: 'point',
      at: position,
      axes: [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
      covariance: Float64Array.of(variance, 0, 0, 0, variance, 0, 0, 0, variance),
      degreesOfFreedom: Infinity,
      reach: 0,
    },
  });
}
