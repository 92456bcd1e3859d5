import { FettleError } from '../../error.js';
import type { Plane } from '../../feature/feature.js';
import { addScaled, dot, subtract } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { associate } from '../associate.js';
import { fewPoints, normalThrough } from './few.js';
import type { Fit, FitOptions, KnownDirection } from '../fit.js';
import { STRIDE } from '../solve/normal-equations.js';
import { place } from '../solve/placement.js';
import { planePass } from './plane-pass.js';
import type { Shape } from '../shape.js';

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

/** Of three points, 22 in 100 are all of this plane when 40 in 100 points are not. */
const GUESSES = 200;

export const plane: Shape<Plane> = {
  kind: 'plane',
  parameters: ['shift-w', 'tilt-u', 'tilt-v'],
  components: 1,
  isSigned: true,
  startsAtAnswer: true,

  fillRows(x, y, z, count, rows) {
    for (let k = 0; k < count; k++) {
      rows[k] = -1;
      rows[STRIDE + k] = x[k];
      rows[2 * STRIDE + k] = y[k];
      rows[3 * STRIDE + k] = z[k];
    }
  },

  starts({ set, spread, given }) {
    if (given.direction) return [place([0, 0, 0], given.direction)];
    const [longest, second] = spread.extent;
    if (second < 1e-7 * longest) {
      throw new FettleError(
        'collinear-points',
        `${set.prefix}The points lie on one straight line: many planes hold them. Choose a region with some width, or give the ` +
          'direction.',
      );
    }
    return [place([0, 0, 0], spread.axes[2])];
  },

  *guesses({ set, spread, given, random }) {
    for (let i = 0; i < GUESSES; i++) {
      const few = fewPoints(set, 3, spread.centroid, random);
      const normal = given.direction ?? normalThrough(few);
      if (normal) yield place(few[0], normal);
    }
  },

  finish: planePass,

  settle: ({ at, w }) => {
    const level = dot(at, w);
    return place([w[0] * level, w[1] * level, w[2] * level], w);
  },

  placementOf: ({ point, normal }, origin) => plane.settle(place(subtract(point, origin), normal)),

  featureOf: ({ at, w }, origin) => ({ kind: 'plane', point: addScaled(origin, at, 1), normal: w }),

  coverage: () => ({}),

  lever: (x, y) => Math.hypot(x, y),
};
