import type { Plane } from '../../feature/feature.js';
import type { Points } from '../../scan/scan.js';
import { associate } from '../associate/associate.js';
import type { Fit, FitOptions, KnownDirection } from '../fit.js';
import { plane } from '../solve/plane-shape.js';

export interface PlaneOptions extends FitOptions<Plane> {
  /** The direction is the normal's. */
  readonly known?: KnownDirection;
}

/**
 * The plane with the least sum of squared distances from the points. It starts as the two longest principal axes through the
 * centroid (Pearson 1901), which in exact numbers is the answer, and is corrected on the points themselves, so that narrow
 * strips lose no digits.
 *
 * Its `point` is the one nearest the centroid. Its normal points to the side the points' own normals do; where they have none
 * its largest component is positive, unless a known direction or `initial` says otherwise.
 *
 * By `minimum-zone` it is the middle of the narrowest slab that holds the points, exact and global; see {@link minimumZonePlane}.
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (3), `points-coincide`,
 * `points-too-small`, `points-too-large`, `collinear-points`, `points-not-finite`, `points-index-range`, `bad-known`,
 * `bad-option`, `bad-trim`
 */
export const fitPlane = (points: Points, options: PlaneOptions = {}): Fit<Plane> => associate(plane, points, options);
