import type { Cylinder } from '../../feature/feature.js';
import type { Points } from '../../scan/scan.js';
import { type Association, awayFromStart, type CriterionOptions, openArc } from './association.js';
import { axisByExtremes } from './axis.js';
import type { Sides } from './trim.js';

/**
 * The cylinder midway between two coaxial cylinders, as near each other as can be, that hold the points (minimum zone,
 * ISO 1101; cylindricity by ISO 12180). Searched from the least-squares cylinder ({@link exchange}): a local minimum;
 * six contacts in general.
 *
 * @throws FettleError `too-few-points`, `bad-trim`
 */
export const minimumZoneCylinder = (points: Points, options: CriterionOptions<Cylinder>): Association<Cylinder> =>
  cylinderByExtremes(points, options, { high: true, low: true }, 6, 'A minimum-zone cylinder');

/**
 * The largest cylinder with no point inside: the pin that slides into a bore (ISO 14405-1 GX). A local maximum near the
 * least-squares cylinder, `radius` the distance of the contacts; five of them in general.
 *
 * @throws FettleError `too-few-points`, `open-arc` when the points do not hold a pin, `bad-trim`
 */
export const maximumInscribedCylinder = (points: Points, options: CriterionOptions<Cylinder>): Association<Cylinder> =>
  cylinderByExtremes(points, options, { high: false, low: true }, 5, 'A maximum inscribed cylinder');

/**
 * The smallest cylinder around the points: the bore a boss enters (ISO 14405-1 GN). A local minimum near the
 * least-squares cylinder, `radius` the distance of the contacts; two to five of them, since curvature can hold it where
 * contacts are few.
 *
 * @throws FettleError `too-few-points`, `bad-trim`
 */
export const minimumCircumscribedCylinder = (
  points: Points,
  options: CriterionOptions<Cylinder>,
): Association<Cylinder> =>
  cylinderByExtremes(points, options, { high: true, low: false }, 5, 'A minimum circumscribed cylinder');

function cylinderByExtremes(
  points: Points,
  options: CriterionOptions<Cylinder>,
  sides: Sides,
  least: number,
  what: string,
): Association<Cylinder> {
  const found = axisByExtremes(points, options, sides, options.start.radius / 2, least, what);
  const { point, direction, inner, outer, moved, ...rest } = found;
  const { radius: size } = options.start;
  // A pin that grows or strays so far has slid out of the points.
  if (!sides.high && (inner > 1.5 * size || moved > size)) throw openArc(what);
  const radius = sides.high ? (sides.low ? (inner + outer) / 2 : outer) : inner;
  return {
    feature: Object.freeze({ kind: 'cylinder', point, direction, radius }),
    form: outer - inner,
    ...rest,
    warnings: awayFromStart(`The ${what.slice(2)}`, moved, size),
  };
}
