import { EigenvalueDecomposition, Matrix, solve } from 'ml-matrix';
import { FettleError, type Warning } from '../error.js';
import type { Ellipse } from '../feature/feature.js';
import { symmetricEigen } from '../math/symmetric-eigen.js';
import { add, scale, type Vec3 } from '../math/vec3.js';
import { lengthText } from '../scan/number-text.js';
import type { Points } from '../scan/scan.js';
import { algebraicRound } from './algebraic.js';
import type { Fit } from './fit.js';
import { type FlatOptions, type FlatShape, fitInPlane } from './flat-fit.js';

export type EllipseOptions = FlatOptions<Ellipse>;

/**
 * The ellipse with the least sum of squared orthogonal distances from the points: what a tilted hole leaves in a section. It starts from
 * the algebraic ellipse (Halíř & Flusser's stable form of Fitzgibbon's fit, 1998) and from the algebraic circle, and is
 * fitted as the image of the unit circle by a symmetric matrix, which is as well behaved when the ellipse is a circle as when not.
 *
 * Where the two axes differ by less than is uncertain a warning says so (`direction-undetermined`): `direction`, and a tilt read from the
 * axes ({@link holeTilt}), then mean nothing. An arc that does not carry the ellipse gets `weak-ellipse`.
 *
 * @throws FettleError `points-empty`, `too-few-points` (5), `points-coincide`, `points-not-finite`, `points-index-range`,
 * `collinear-points`, `fit-undetermined`, `bad-option`
 */
export const fitEllipse = (points: Points, options: EllipseOptions = {}): Fit<Ellipse> => {
  const { initial } = options;
  return fitInPlane(ellipse, points, initial ? { ...options, plane: options.plane ?? planeOf(initial) } : options);
};

const planeOf = ({ center, normal }: Ellipse) => ({ kind: 'plane', point: center, normal }) as const;

/** How a round hole leans against the section that shows it as an ellipse. */
export interface HoleTilt {
  /** Angle between the hole's axis and the section's normal, radians: acos(minor/major). */
  readonly tilt: number;
  /** The least and the most it can be, from the uncertainty (k = 2) of the axes. Near a circle the least is 0. */
  readonly least: number;
  readonly most: number;
  /** Unit vectors along the hole's axis: it leans along the major axis, one way or the other. The section cannot tell which. */
  readonly axes: readonly [Vec3, Vec3];
  /** The hole's own radius, mm: the minor one. */
  readonly radius: number;
}

/** Read the tilt of a round hole from the ellipse it leaves in a section. */
export function holeTilt({ feature, uncertainty }: Pick<Fit<Ellipse>, 'feature' | 'uncertainty'>): HoleTilt {
  const { major, minor, normal, direction } = feature;
  const c = uncertainty.covariance;
  const ratio = minor / major;
  // Of the ratio, by the law of propagation: parameters 3 and 4 are major and minor.
  const variance = (c[24] - 2 * ratio * c[19] + ratio * ratio * c[18]) / (major * major);
  const plusMinus = 2 * Math.sqrt(Math.max(0, variance));
  const tilt = Math.acos(ratio);
  const toward = (side: number): Vec3 => add(scale(normal, ratio), scale(direction, side * Math.sin(tilt)));
  return {
    tilt,
    least: Math.acos(Math.min(1, ratio + plusMinus)),
    most: Math.acos(Math.max(0, ratio - plusMinus)),
    axes: [toward(1), toward(-1)],
    radius: minor,
  };
}

/** The points center + A·(cos φ, sin φ), A = (xx, xy; xy, yy) positive definite; in the plane's axes, mm. */
interface State {
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

interface Axes {
  readonly major: number;
  readonly minor: number;
  readonly ux: number;
  readonly uy: number;
}

function axesOf({ xx, xy, yy }: State): Axes {
  const { values, vectors } = symmetricEigen([xx, xy, xy, yy], 2);
  const [ux, uy] = vectors[1];
  return { major: values[1], minor: values[0], ux, uy };
}

interface Foot {
  readonly distance: number;
  /** Of the nearest point, in the ellipse's axes. */
  readonly s: number;
  readonly t: number;
  /** Outward normal there. */
  readonly ns: number;
  readonly nt: number;
}

/**
 * Nearest point of the ellipse to (s, t), in its axes: on the normal through it, at the root of a function that falls and is convex, so
 * that Newton's steps from its left come down to it without fail.
 */
export function footOnEllipse(major: number, minor: number, s: number, t: number): Foot {
  const [a, b] = [major, minor];
  const [p, q] = [Math.abs(s), Math.abs(t)];
  const [aa, bb] = [a * a, b * b];
  let [x, y] = [0, 0];
  if (q > 0) {
    let root = Math.max(a * p - aa, b * q - bb);
    for (let step = 0; step < 100; step++) {
      const [i, j] = [(a * p) / (root + aa), (b * q) / (root + bb)];
      const value = i * i + j * j - 1;
      const slope = -2 * ((i * i) / (root + aa) + (j * j) / (root + bb));
      const next = root - value / slope;
      if (!(next > root)) break;
      root = next;
    }
    x = (aa * p) / (root + aa);
    y = (bb * q) / (root + bb);
  } else if (p * a < aa - bb) {
    x = (aa * p) / (aa - bb);
    y = b * Math.sqrt(Math.max(0, 1 - (x / a) ** 2));
  } else x = a;
  const steep = Math.hypot(x / aa, y / bb);
  const isOutside = (p / a) ** 2 + (q / b) ** 2 > 1;
  const sign = (c: number) => (c < 0 ? -1 : 1);
  return {
    distance: (isOutside ? 1 : -1) * Math.hypot(p - x, q - y),
    s: sign(s) * x,
    t: sign(t) * y,
    ns: (sign(s) * x) / aa / steep,
    nt: (sign(t) * y) / bb / steep,
  };
}

const ellipse: FlatShape<State, Ellipse> = {
  kind: 'ellipse',

  starts(xy) {
    const found = algebraicEllipse(xy);
    const n = xy.length / 2;
    const coordinates = [0, 1].map((k) => Float64Array.from({ length: n }, (_, i) => xy[2 * i + k]));
    const { center, radius } = algebraicRound(coordinates, n);
    const round: State = { x: center[0], y: center[1], xx: radius, xy: 0, yy: radius };
    return found ? [found, round] : [round];
  },

  distance(state) {
    const { major, minor, ux, uy } = axesOf(state);
    return (x, y, gradient) => {
      const [px, py] = [x - state.x, y - state.y];
      const foot = footOnEllipse(major, minor, ux * px + uy * py, ux * py - uy * px);
      // Normal and unit-circle point of the foot, in the plane's axes.
      const [nx, ny] = [ux * foot.ns - uy * foot.nt, uy * foot.ns + ux * foot.nt];
      const [cs, ct] = [foot.s / major, foot.t / minor];
      const [cx, cy] = [ux * cs - uy * ct, uy * cs + ux * ct];
      gradient[0] = -nx;
      gradient[1] = -ny;
      gradient[2] = -nx * cx;
      gradient[3] = -(nx * cy + ny * cx);
      gradient[4] = -ny * cy;
      return foot.distance;
    };
  },

  moved(state, by) {
    const at = (part: number): State => ({
      x: state.x + part * by[0],
      y: state.y + part * by[1],
      xx: state.xx + part * by[2],
      xy: state.xy + part * by[3],
      yy: state.yy + part * by[4],
    });
    // A step that would turn the ellipse inside out is shortened.
    let part = 1;
    while (axesOf(at(part)).minor < 0.1 * axesOf(state).minor) part /= 2;
    return at(part);
  },

  settle: (state) => state,

  place: (state) => ({ ...axesOf(state), x: state.x, y: state.y }),

  feature(state, center, normal, direction) {
    const { major, minor } = axesOf(state);
    return { kind: 'ellipse', center, normal, direction, major, minor };
  },

  tableDistance(state) {
    const { major, minor, ux, uy } = axesOf(state);
    return (x, y, gradient) => {
      const [px, py] = [x - state.x, y - state.y];
      const { distance, s, t, ns, nt } = footOnEllipse(major, minor, ux * px + uy * py, ux * py - uy * px);
      gradient[0] = -ns;
      gradient[1] = -nt;
      gradient[2] = t * ns - s * nt;
      gradient[3] = (-ns * s) / major;
      gradient[4] = (-nt * t) / minor;
      return distance;
    };
  },

  reach: (state) => axesOf(state).major,

  judge(state, xy, _rms, covariance) {
    const { major, minor } = axesOf(state);
    const sd = (variance: number) => Math.sqrt(Math.max(0, variance));
    const [ofMajor, ofMinor] = [sd(covariance[18]), sd(covariance[24])];
    if (!(2 * Math.min(ofMajor, ofMinor) < minor)) throw undetermined();
    const warnings: Warning[] = [];
    if (2 * Math.max(ofMajor, ofMinor) > 0.1 * major)
      warnings.push({
        code: 'weak-ellipse',
        message:
          `These points do not carry an ellipse: its half axes are ${lengthText(major)} ± ${lengthText(2 * ofMajor)} and ` +
          `${lengthText(minor)} ± ${lengthText(2 * ofMinor)} (k = 2). Choose points farther around.`,
      });
    const difference = sd(covariance[18] + covariance[24] - 2 * covariance[19]);
    if (major - minor <= 2 * difference)
      warnings.push({
        code: 'direction-undetermined',
        message:
          `The half axes differ by ${lengthText(major - minor)}, less than that is uncertain, ± ${lengthText(2 * difference)} ` +
          '(k = 2): this is a circle as far as the points tell, and its direction and tilt mean nothing.',
      });
    return { coverage: { arc: arcOf(state, xy) }, warnings };
  },
};

/** Full turn less the largest angle about the center that holds no point, radians. */
function arcOf({ x, y }: State, xy: Float64Array): number {
  const angles = Float64Array.from({ length: xy.length / 2 }, (_, i) =>
    Math.atan2(xy[2 * i + 1] - y, xy[2 * i] - x),
  ).sort();
  let gap = angles[0] + 2 * Math.PI - angles[angles.length - 1];
  for (let i = 1; i < angles.length; i++) gap = Math.max(gap, angles[i] - angles[i - 1]);
  return 2 * Math.PI - gap;
}

/** The ellipse least by Σ(conic)² with 4ac − b² = 1; undefined where the points give none. */
function algebraicEllipse(xy: Float64Array): State | undefined {
  const n = xy.length / 2;
  let [mx, my, size] = [0, 0, 0];
  for (let k = 0; k < xy.length; k += 2) {
    mx += xy[k] / n;
    my += xy[k + 1] / n;
  }
  for (let k = 0; k < xy.length; k += 2) size += ((xy[k] - mx) ** 2 + (xy[k + 1] - my) ** 2) / n;
  size = Math.sqrt(size);
  const [s1, s2, s3] = [Matrix.zeros(3, 3), Matrix.zeros(3, 3), Matrix.zeros(3, 3)];
  for (let k = 0; k < xy.length; k += 2) {
    const [x, y] = [(xy[k] - mx) / size, (xy[k + 1] - my) / size];
    const [quadratic, linear] = [
      [x * x, x * y, y * y],
      [x, y, 1],
    ];
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        s1.set(i, j, s1.get(i, j) + quadratic[i] * quadratic[j]);
        s2.set(i, j, s2.get(i, j) + quadratic[i] * linear[j]);
        s3.set(i, j, s3.get(i, j) + linear[i] * linear[j]);
      }
  }
  const reduced = solve(s3, s2.transpose()).mul(-1);
  const m = Matrix.add(s1, s2.mmul(reduced)).to2DArray();
  const { eigenvectorMatrix } = new EigenvalueDecomposition(
    new Matrix([m[2].map((c) => c / 2), m[1].map((c) => -c), m[0].map((c) => c / 2)]),
  );
  for (let k = 0; k < 3; k++) {
    const v = eigenvectorMatrix.getColumn(k);
    if (!(4 * v[0] * v[2] - v[1] * v[1] > 0)) continue;
    const w = reduced.mmul(Matrix.columnVector(v)).to1DArray();
    const state = fromConic([...v, ...w]);
    if (!state) continue;
    return {
      x: mx + size * state.x,
      y: my + size * state.y,
      xx: size * state.xx,
      xy: size * state.xy,
      yy: size * state.yy,
    };
  }
  return undefined;
}

/** a·x² + b·xy + c·y² + d·x + e·y + f = 0 as center and matrix. */
function fromConic([a, b, c, d, e, f]: readonly number[]): State | undefined {
  const det = 4 * a * c - b * b;
  const [x, y] = [(b * e - 2 * c * d) / det, (b * d - 2 * a * e) / det];
  const level = -(f + (d * x + e * y) / 2);
  const { values, vectors } = symmetricEigen([a / level, b / 2 / level, b / 2 / level, c / level], 2);
  if (!(values[0] > 0)) return undefined;
  const part = (i: number, j: number) =>
    values.reduce((sum, value, k) => sum + (vectors[k][i] * vectors[k][j]) / Math.sqrt(value), 0);
  return { x, y, xx: part(0, 0), xy: part(0, 1), yy: part(1, 1) };
}

const undetermined = (): FettleError =>
  new FettleError(
    'fit-undetermined',
    'The points do not determine an ellipse: they lie too nearly on a line or a short arc. Choose points farther around.',
  );
