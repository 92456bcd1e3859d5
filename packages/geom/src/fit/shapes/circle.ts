import { FettleError } from '../../error.js';
import type { Circle, Plane } from '../../feature/feature.js';
import { add, addScaled, dot, isFiniteVec3, length, normalize, scale, subtract, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { givenText } from '../../text/number-text.js';
import { associate } from '../associate/associate.js';
import type { Fit, FitOptions, KnownDirection, KnownPlane, KnownRadius } from '../fit.js';
import { withUncertainty } from '../known/known.js';
import { arcAbout } from '../solve/coverage.js';
import { centerThrough, fewPoints, normalThrough } from '../solve/few.js';
import { STRIDE, toLocal } from '../solve/normal-equations.js';
import { type Placement, place } from '../solve/placement.js';
import { centersFor, type Sample, type Shape } from '../solve/shape.js';
import { algebraicRound } from './algebraic.js';

export interface CircleOptions extends FitOptions<Circle> {
  /** Fit the circle in this plane: to the points' projections on it, by their distance in it. */
  readonly plane?: Plane;
  /** A known `plane` is what the option `plane` is; a known `direction` is the circle's normal. */
  readonly known?: KnownRadius & KnownDirection & KnownPlane;
}

/**
 * The circle with the least sum of squared distances from the points: in space, where distance along its normal and distance
 * from its rim in its plane both count, or in a given plane. Starts from Taubin's algebraic fit in the plane of the points.
 *
 * By the other criteria (`minimum-zone`, `maximum-inscribed`, `minimum-circumscribed`) the circle is sought in the plane given, else
 * in that of the least-squares circle.
 *
 * The normal points to the side the points' own normals do; where they have none its largest component is positive, unless a
 * plane, a known direction or `initial` says otherwise.
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (3), `points-coincide`,
 * `points-too-small`, `points-too-large`, `collinear-points`, `points-not-finite`, `points-index-range`,
 * `fit-undetermined`, `bad-known`, `bad-option`, `bad-trim`, `straight-points` where no ring is narrower than a strip,
 * `open-arc` where the points hold no pin
 */
export function fitCircle(points: Points, options: CircleOptions = {}): Fit<Circle> {
  const { plane = options.known?.plane ?? planeForExtremes(points, options) } = options;
  return associate(plane ? circleIn(checkedPlane(withUncertainty(plane).value)) : circle, points, options);
}

/** A criterion other than least squares looks in a plane: that of the least-squares circle where none is given. */
function planeForExtremes(
  points: Points,
  { criterion = 'least-squares', trim: _, ...rest }: CircleOptions,
): Plane | undefined {
  if (criterion === 'least-squares') return undefined;
  const { center, normal } = fitCircle(points, rest).feature;
  return { kind: 'plane', point: center, normal };
}

/** Of three points, 22 in 100 are all of this circle when 40 in 100 points are not. */
const GUESSES = 250;

export const circle: Shape<Circle> = {
  kind: 'circle',
  parameters: ['shift-u', 'shift-v', 'shift-w', 'tilt-u', 'tilt-v', 'radius'],
  components: 2,
  speaksOf: [
    [0, 1, 5],
    [2, 3, 4],
  ],
  isSigned: true,
  startsAtAnswer: false,

  fillRows(x, y, z, count, rows, radius) {
    for (let k = 0; k < count; k++) {
      const a = x[k];
      const b = y[k];
      const c = z[k];
      const far = Math.sqrt(a * a + b * b);
      const inverse = far > 0 ? -1 / far : 0;
      rows[k] = a * inverse;
      rows[STRIDE + k] = b * inverse;
      rows[2 * STRIDE + k] = 0;
      rows[3 * STRIDE + k] = c * a * inverse;
      rows[4 * STRIDE + k] = c * b * inverse;
      rows[5 * STRIDE + k] = -1;
      rows[6 * STRIDE + k] = far - radius;
      const l = count + k;
      rows[l] = 0;
      rows[STRIDE + l] = 0;
      rows[2 * STRIDE + l] = -1;
      rows[3 * STRIDE + l] = a;
      rows[4 * STRIDE + l] = b;
      rows[5 * STRIDE + l] = 0;
      rows[6 * STRIDE + l] = c;
    }
  },

  starts(sample) {
    const { spread, given } = sample;
    const normals = given.direction ? [given.direction] : [spread.axes[2], spread.axes[1]];
    return normals.flatMap((w) => startsAcross(sample, [0, 0, 0], w));
  },

  *guesses({ set, spread, given, random }) {
    for (let i = 0; i < GUESSES; i++) {
      const few = fewPoints(set, 3, spread.centroid, random);
      const normal = given.direction ?? normalThrough(few);
      const center = normal && centerThrough(few.map((p) => addScaled(p, normal, dot(subtract(few[0], p), normal))));
      if (normal && center) yield place(center, normal, given.radius ?? length(subtract(few[0], center)));
    }
  },

  settle: (placement) => placement,

  placementOf: ({ center, normal, radius }, origin) => place(subtract(center, origin), normal, radius),

  featureOf: ({ at, w, radius }, origin) => ({ kind: 'circle', center: add(origin, at), normal: w, radius }),

  coverage: (seen) => ({ arc: arcAbout(seen) }),

  lever: (x, y) => Math.hypot(x, y),
};

/** The circle in a plane: only what happens in the plane counts. */
const circleIn = ({ point, normal }: Plane): Shape<Circle> => ({
  ...circle,
  components: 1,
  held: ['shift-w', 'tilt-u', 'tilt-v'],
  freed: circle,
  facing: normal,

  fillRows(x, y, _z, count, rows, radius) {
    rows.fill(0, 2 * STRIDE, 2 * STRIDE + count);
    rows.fill(0, 3 * STRIDE, 3 * STRIDE + count);
    rows.fill(0, 4 * STRIDE, 4 * STRIDE + count);
    for (let k = 0; k < count; k++) {
      const a = x[k];
      const b = y[k];
      const far = Math.sqrt(a * a + b * b);
      const inverse = far > 0 ? -1 / far : 0;
      rows[k] = a * inverse;
      rows[STRIDE + k] = b * inverse;
      rows[5 * STRIDE + k] = -1;
      rows[6 * STRIDE + k] = far - radius;
    }
  },

  *guesses({ set, spread, given, random }) {
    for (let i = 0; i < GUESSES; i++) {
      const few = fewPoints(set, 3, spread.centroid, random).map((p) => onPlane(p, point, normal, spread.centroid));
      const center = centerThrough(few);
      if (center) yield place(center, normal, given.radius ?? length(subtract(few[0], center)));
    }
  },

  starts: (sample) => startsAcross(sample, onPlane([0, 0, 0], point, normal, sample.spread.centroid), normal),

  placementOf: ({ center, radius }, origin) =>
    place(onPlane(subtract(center, origin), point, normal, origin), normal, radius),
});

/** `p`, seen from `origin`, moved along the normal onto the plane. */
const onPlane = (p: Vec3, point: Vec3, normal: Vec3, origin: Vec3): Vec3 =>
  addScaled(p, normal, dot(subtract(subtract(point, origin), p), normal));

/** Circles through the points seen along `w`, in the plane through `level`. */
function startsAcross({ set, spread, given }: Sample, level: Vec3, w: Vec3): Placement[] {
  const { count } = set;
  const [x, y, z] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  const frame = place(level, w);
  toLocal(set.xyz, 0, count, frame, spread.centroid, x, y, z);
  const { center, radius } = algebraicRound([x, y], count);
  const from = add(scale(frame.u, center[0]), scale(frame.v, center[1]));
  const centers = given.radius === undefined ? [from] : centersFor(from, radius, given.radius);
  return centers.map((c) => place(add(level, c), w, given.radius ?? radius));
}

/** @throws FettleError `bad-known` */
function checkedPlane(plane: Plane): Plane {
  const { kind, point, normal } = plane;
  if (isFiniteVec3(point) && isFiniteVec3(normal) && length(normal) > 0)
    return { kind, point, normal: normalize(normal) };
  throw new FettleError(
    'bad-known',
    `The plane to fit a circle in cannot be used: its point is ${givenText(point)}, its normal ${givenText(normal)}. ` +
      'Give a finite point and a normal that is not all 0.',
  );
}
