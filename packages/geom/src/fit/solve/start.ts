import type { Feature } from '../../feature/feature.js';
import { seededRandom } from '../../math/random.js';
import { gaussNewton } from './gauss-newton.js';
import type { Placement } from './placement.js';
import type { PointSet } from './point-set.js';
import { polish } from './polish.js';
import { samplePoints } from './sample.js';
import type { Given, Shape } from './shape.js';
import type { Spread } from './spread.js';

/** Points rough starts are found on, and points the best of them is carried to its minimum on. */
const FEW = 100;
const MANY = 3000;
const SEED = 1;

/**
 * Where to start on all points: the best of the shape's own starts, each carried into its minimum on a hundred points, the
 * winner then on a few thousand.
 */
export function findStart<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  spread: Spread,
  given: Given,
  free: readonly number[],
): Placement {
  const random = seededRandom(SEED);
  const { centroid: origin, size } = spread;
  if (shape.startsAtAnswer) return shape.starts({ set, spread, given, random })[0];
  const few = samplePoints(set, FEW, random);
  const polished = shape
    .starts({ set: few, spread, given, random })
    .map((start) => polish(shape, few, origin, size, start, free));
  const best = polished.reduce((a, b) => (b.squares < a.squares ? b : a));
  if (set.count <= FEW) return best.placement;
  const many = samplePoints(set, MANY, random);
  return gaussNewton({ shape, set: many, origin, size, start: best.placement, free }).placement;
}
