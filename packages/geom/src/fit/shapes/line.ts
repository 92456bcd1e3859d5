import type { Line } from '../../feature/feature.js';
import { addScaled, dot, length, normalize, subtract } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { associate } from '../associate/associate.js';
import type { Fit, FitOptions, KnownDirection } from '../fit.js';
import { lengthAlong } from '../solve/coverage.js';
import { fewPoints } from '../solve/few.js';
import { STRIDE } from '../solve/normal-equations.js';
import { place } from '../solve/placement.js';
import type { Shape } from '../solve/shape.js';

export interface LineOptions extends FitOptions<Line> {
  readonly known?: KnownDirection;
}

/**
 * The straight line with the least sum of squared distances from the points. It starts as the longest principal axis through the
 * centroid (Pearson 1901), which in exact numbers is the answer, and is corrected on the points themselves.
 *
 * Its `point` is the one nearest the centroid; the largest component of its direction is positive unless a known direction or
 * `initial` says otherwise.
 *
 * By `minimum-zone` it is the axis of the smallest cylinder around the points; see {@link minimumZoneLine}.
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (2), `points-coincide`,
 * `points-too-small`, `points-too-large`, `points-not-finite`, `points-index-range`, `bad-known`, `bad-option`,
 * `bad-trim`
 */
export const fitLine = (points: Points, options: LineOptions = {}): Fit<Line> => associate(line, points, options);

/** Of two points, 36 in 100 are both of this line when 40 in 100 points are not. */
const GUESSES = 150;

export const line: Shape<Line> = {
  kind: 'line',
  parameters: ['shift-u', 'shift-v', 'tilt-u', 'tilt-v'],
  components: 2,
  speaksOf: [
    [0, 2],
    [1, 3],
  ],
  isSigned: false,
  startsAtAnswer: true,

  fillRows(x, y, z, count, rows) {
    for (let k = 0; k < count; k++) {
      const l = count + k;
      rows[k] = -1;
      rows[l] = 0;
      rows[STRIDE + k] = 0;
      rows[STRIDE + l] = -1;
      rows[2 * STRIDE + k] = -z[k];
      rows[2 * STRIDE + l] = 0;
      rows[3 * STRIDE + k] = 0;
      rows[3 * STRIDE + l] = -z[k];
      rows[4 * STRIDE + k] = x[k];
      rows[4 * STRIDE + l] = y[k];
    }
  },

  starts: ({ spread, given }) => [place([0, 0, 0], given.direction ?? spread.axes[0])],

  *guesses({ set, spread, given, random }) {
    for (let i = 0; i < GUESSES; i++) {
      const [a, b] = fewPoints(set, 2, spread.centroid, random);
      const along = subtract(b, a);
      if (length(along) > 0) yield place(a, given.direction ?? normalize(along));
    }
  },

  settle: ({ at, w }) => place(addScaled(at, w, -dot(at, w)), w),

  placementOf: ({ point, direction }, origin) => line.settle(place(subtract(point, origin), direction)),

  featureOf: ({ at, w }, origin) => ({ kind: 'line', point: addScaled(origin, at, 1), direction: w }),

  coverage: (seen) => ({ length: lengthAlong(seen) }),

  lever: (_x, _y, z) => Math.abs(z),
};
