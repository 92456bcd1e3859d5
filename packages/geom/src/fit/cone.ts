import type { Cone } from '../feature/feature.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { add, addScaled, dot, negate, scale, subtract, type Vec3 } from '../math/vec3.js';
import type { Points } from '../scan/scan.js';
import { associate } from './associate.js';
import { arcAbout, lengthAlong } from './coverage.js';
import { bestDirections, likelyDirections } from './directions.js';
import type { Fit, FitOptions, KnownDirection, KnownHalfAngle } from './fit.js';
import { STRIDE, toLocal } from './normal-equations.js';
import { type Placement, place } from './placement.js';
import { subset } from './point-set.js';
import type { Sample, Shape } from './shape.js';

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
    const { set, given, random } = sample;
    for (const w of given.direction ? [given.direction] : likelyDirections(sample)) {
      for (let i = 0; i < GUESSES; i++) {
        const places = Uint32Array.from({ length: 5 }, () => random.below(set.count));
        const { placement } = coneAlong({ ...sample, set: subset(set, places) })(w);
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

/**
 * A cone about a given direction: its axis by the linear fit of x² + y² = 2ax + 2by + c + 2dz + ez², then the straight line
 * nearest the points' heights and distances from that axis.
 */
function coneAlong({ set, spread }: Sample): (w: Vec3) => { placement: Placement; meanSquare: number } {
  const { count } = set;
  const { centroid, size } = spread;
  const [x, y, z] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  return (w) => {
    const frame = place([0, 0, 0], w);
    toLocal(set.xyz, 0, count, frame, centroid, x, y, z);
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
    const at = add(add(scale(frame.u, a), scale(frame.v, b)), scale(w, meanZ));
    return { placement: place(at, w, meanR, halfAngle), meanSquare: Math.max(0, meanSquare) };
  };
}

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
      const row = [2 * x[k], 2 * y[k], size, 2 * z[k], (z[k] * z[k]) / size];
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
