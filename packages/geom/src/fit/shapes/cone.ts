import type { Cone } from '../../feature/feature.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { add, addScaled, dot, negate, scale, subtract, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { associate } from '../associate/associate.js';
import type { Fit, FitOptions, KnownDirection, KnownHalfAngle } from '../fit.js';
import { arcAbout, lengthAlong } from '../solve/coverage.js';
import { STRIDE, toLocal } from '../solve/normal-equations.js';
import { type Placement, place } from '../solve/placement.js';
import type { Sample, Shape } from '../solve/shape.js';
import { bestDirections, likelyDirections } from './directions.js';

export interface ConeOptions extends FitOptions<Cone> {
  readonly known?: KnownDirection & KnownHalfAngle;
}

/**
 * The cone with the least sum of squared distances from the points. While it is fitted it is known by its axis, its half-angle
 * and its radius at the level of the centroid, not by its apex: a slow taper, whose apex is far away, and a nearly flat cone are
 * then no harder than any other (distance and derivatives as in Shakarji, J. Res. NIST 103 (1998) 633-641). It starts from the
 * best of a few hundred axis directions and the points' principal axes.
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (6), `points-coincide`,
 * `points-too-small`, `points-too-large`, `points-not-finite`, `points-index-range`, `fit-undetermined`,
 * `cone-without-taper` (the points lie on a cylinder or on a plane), `bad-known`, `bad-option`
 */
export const fitCone = (points: Points, options: ConeOptions = {}): Fit<Cone> => associate(cone, points, options);

/** Starts carried on. */
const STARTS = 5;

/** In each direction. Of five points, 8 in 100 are all of this cone when 40 in 100 points are not. */
const GUESSES = 70;

export const cone: Shape<Cone> = {
  kind: 'cone',
  parameters: ['shift-u', 'shift-v', 'tilt-u', 'tilt-v', 'radius', 'half-angle'],
  components: 1,
  isSigned: true,
  startsAtAnswer: false,

  fillRows(x, y, z, count, rows, radius, halfAngle) {
    const cos = Math.cos(halfAngle);
    const sin = Math.sin(halfAngle);
    for (let k = 0; k < count; k++) {
      const a = x[k];
      const b = y[k];
      const c = z[k];
      const far = Math.sqrt(a * a + b * b);
      const inverse = far > 0 ? -1 / far : 0;
      const du = a * inverse;
      const dv = b * inverse;
      const lever = c * cos + far * sin;
      rows[k] = cos * du;
      rows[STRIDE + k] = cos * dv;
      rows[2 * STRIDE + k] = lever * du;
      rows[3 * STRIDE + k] = lever * dv;
      rows[4 * STRIDE + k] = -cos;
      rows[5 * STRIDE + k] = (radius - far) * sin - c * cos;
      rows[6 * STRIDE + k] = (far - radius) * cos - c * sin;
    }
  },

  starts(sample) {
    const { given, spread } = sample;
    const along = coneAlong(sample);
    const directions = given.direction
      ? [given.direction]
      : bestDirections((w) => along(w).meanSquare, spread.axes, STARTS);
    return directions.map((w) => {
      const { placement } = along(w);
      return given.halfAngle === undefined
        ? placement
        : { ...placement, halfAngle: placement.halfAngle < 0 ? -given.halfAngle : given.halfAngle };
    });
  },

  *guesses(sample) {
    const { set, given, random, share = 1 } = sample;
    const places = new Uint32Array(5);
    for (const w of given.direction ? [given.direction] : likelyDirections(sample)) {
      const through = coneThrough(sample, w);
      for (let i = 0; i < share * GUESSES; i++) {
        for (let k = 0; k < places.length; k++) places[k] = random.below(set.count);
        const { placement } = through(places);
        yield given.halfAngle === undefined ? placement : { ...placement, halfAngle: given.halfAngle };
      }
    }
  },

  settle(placement) {
    const { at, w, radius, halfAngle } = placement;
    // The cone at half-angle + π is the same one with its distances' signs turned.
    const turn = halfAngle - Math.PI * Math.round(halfAngle / Math.PI);
    const level = dot(at, w);
    const there = addScaled(at, w, -level);
    const radiusThere = radius - level * Math.tan(turn);
    return turn < 0 ? place(there, negate(w), radiusThere, -turn) : place(there, w, radiusThere, turn);
  },

  placementOf({ apex, direction, halfAngle }, origin) {
    const from = subtract(apex, origin);
    const level = dot(from, direction);
    return place(addScaled(from, direction, -level), direction, -level * Math.tan(halfAngle), halfAngle);
  },

  featureOf: ({ at, w, radius, halfAngle }, origin) => ({
    kind: 'cone',
    apex: addScaled(add(origin, at), w, -radius / Math.tan(halfAngle)),
    direction: w,
    halfAngle,
  }),

  coverage: (seen) => ({ arc: arcAbout(seen), length: lengthAlong(seen) }),

  lever: (x, y, z, { halfAngle }) => Math.abs(z * Math.cos(halfAngle) + Math.hypot(x, y) * Math.sin(halfAngle)),
};

/** The cone about a direction that is nearest to the points. */
function coneAlong({ set, spread }: Sample): (w: Vec3) => AlongAxis {
  const { count } = set;
  const { centroid, size } = spread;
  const [x, y, z] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  return (w) => {
    const frame = place([0, 0, 0], w);
    toLocal(set.xyz, 0, count, frame, centroid, x, y, z);
    return nearestAlong(frame, x, y, z, count, size);
  };
}

/** The cone about a direction that is nearest to some few of the points, by their places. */
function coneThrough({ set, spread }: Sample, w: Vec3): (places: Uint32Array) => AlongAxis {
  const frame = place([0, 0, 0], w);
  const all = [0, 1, 2].map(() => new Float64Array(set.count));
  toLocal(set.xyz, 0, set.count, frame, spread.centroid, all[0], all[1], all[2]);
  let few: Float64Array[] = [];
  return (places) => {
    const count = places.length;
    if (few[0]?.length !== count) few = all.map(() => new Float64Array(count));
    for (let k = 0; k < 3; k++) for (let i = 0; i < count; i++) few[k][i] = all[k][places[i]];
    return nearestAlong(frame, few[0], few[1], few[2], count, spread.size);
  };
}

interface AlongAxis {
  readonly placement: Placement;
  readonly meanSquare: number;
}

/**
 * A cone about a given direction, w of the frame the coordinates are in: its axis by the linear fit of x² + y² = 2ax + 2by + c + 2dz +
 * ez², then the straight line nearest the points' heights and distances from that axis.
 */
function nearestAlong(
  frame: Placement,
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
  count: number,
  size: number,
): AlongAxis {
  const [a, b] = axisThrough(x, y, z, count, size);
  let meanZ = 0;
  let meanR = 0;
  for (let k = 0; k < count; k++) {
    meanZ += z[k] / count;
    meanR += Math.hypot(x[k] - a, y[k] - b) / count;
  }
  let zz = 0;
  let zr = 0;
  let rr = 0;
  for (let k = 0; k < count; k++) {
    const dz = z[k] - meanZ;
    const dr = Math.hypot(x[k] - a, y[k] - b) - meanR;
    zz += dz * dz;
    zr += dz * dr;
    rr += dr * dr;
  }
  const halfAngle = Math.atan2(2 * zr, zz - rr) / 2;
  const meanSquare = (zz + rr - Math.hypot(zz - rr, 2 * zr)) / (2 * count);
  const { w } = frame;
  const at = add(add(scale(frame.u, a), scale(frame.v, b)), scale(w, meanZ));
  return { placement: { ...frame, at, radius: meanR, halfAngle }, meanSquare: Math.max(0, meanSquare) };
}

const row = new Float64Array(5);

/** Where the axis passes, by the linear fit; with fewer terms where the points do not carry all. */
function axisThrough(
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
  count: number,
  size: number,
): readonly [number, number] {
  for (const terms of [5, 4, 3]) {
    const normal = new Float64Array(terms * terms);
    const right = new Float64Array(terms);
    for (let k = 0; k < count; k++) {
      row[0] = 2 * x[k];
      row[1] = 2 * y[k];
      row[2] = size;
      row[3] = 2 * z[k];
      row[4] = (z[k] * z[k]) / size;
      const square = x[k] * x[k] + y[k] * y[k];
      for (let i = 0; i < terms; i++) {
        right[i] += row[i] * square;
        for (let j = 0; j < terms; j++) normal[i * terms + j] += row[i] * row[j];
      }
    }
    const solved = scaledCholesky(normal, terms)?.solve(right);
    if (solved) return [solved[0], solved[1]];
  }
  return [0, 0];
}
