import { FettleError } from '../../error.js';
import type { Plane } from '../../feature/feature.js';
import { addScaled, dot, subtract } from '../../math/vec3.js';
import { fewPoints, normalThrough } from './few.js';
import { STRIDE } from './normal-equations.js';
import { place } from './placement.js';
import { planePass } from './plane-pass.js';
import type { Shape } from './shape.js';

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
