import type { Feature } from '../../feature/feature.js';
import { type Placement, roundingAt } from '../solve/placement.js';
import type { PointSet } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import { stepsAcross } from '../uncertainty/digits.js';

/** Steps within which a point is never a stray: with noise of up to 0.74 steps more than half of the residuals may be 0, and 3 of that are 2.2. */
export const DIGITS = 2;

/**
 * Residuals within which no point is an outlier, mm: points that are all exact differ by rounding alone, that of coordinates of few
 * digits too.
 */
export function finestLimit<F extends Feature>(
  shape: Shape<F>,
  set: PointSet,
  size: number,
): (placement: Placement) => number {
  const across = stepsAcross(shape, set);
  return (placement) =>
    Math.max(64 * roundingAt(placement, size), DIGITS * Math.max(0, ...across(placement).map(({ step }) => step)));
}
