import { FettleError, type Warning } from '../../error.js';
import type { Ellipse } from '../../feature/feature.js';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import { add, scale, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { lengthText } from '../../text/number-text.js';
import type { Fit } from '../fit.js';
import { algebraicRound } from '../shapes/algebraic.js';
import { algebraicEllipse, type EllipseMatrix } from './algebraic-ellipse.js';
import { footOnEllipse } from './ellipse-foot.js';
import { type FlatOptions, fitInPlane } from './flat-fit.js';
import type { FlatShape } from './flat-shape.js';

export type EllipseOptions = FlatOptions<Ellipse>;

/**
 * The ellipse with the least sum of squared orthogonal distances from the points: what a tilted hole leaves in a
 * section. It starts from the algebraic ellipse (Halíř & Flusser's stable form of Fitzgibbon's fit, 1998) and from the
 * algebraic circle, and is fitted as the image of the unit circle by a symmetric matrix, which is as well behaved when
 * the ellipse is a circle as when not.
 *
 * Where the two axes differ by less than is uncertain a warning says so (`direction-undetermined`): `direction`, and a
 * tilt read from the axes ({@link holeTilt}), then mean nothing. An arc that does not carry the ellipse gets
 * `weak-ellipse`.
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (5), `points-coincide`,
 * `points-too-small`, `points-too-large`, `points-not-finite`, `points-index-range`, `collinear-points`,
 * `fit-undetermined`, `bad-option`
 */
export const fitEllipse = (points: Points, options: EllipseOptions = {}): Fit<Ellipse> =>
  fitInPlane(ellipse, points, options);

/** How a round hole leans against the section that shows it as an ellipse. */
export interface HoleTilt {
  /** Angle between the hole's axis and the section's normal, radians: acos(minor/major). */
  readonly tilt: number;
  /** The least and the most it can be, from the uncertainty (k = 2) of the axes. Near a circle the least is 0. */
  readonly least: number;
  readonly most: number;
  /**
   * Unit vectors along the hole's axis: it leans along the major axis, one way or the other. The section cannot tell
   * which.
   */
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

interface Axes {
  readonly major: number;
  readonly minor: number;
  readonly ux: number;
  readonly uy: number;
}

function axesOf({ xx, xy, yy }: EllipseMatrix): Axes {
  const { values, vectors } = symmetricEigen([xx, xy, xy, yy], 2);
  const [ux, uy] = vectors[1];
  return { major: values[1], minor: values[0], ux, uy };
}

const ellipse: FlatShape<EllipseMatrix, Ellipse> = {
  kind: 'ellipse',

  starts(xy) {
    const found = algebraicEllipse(xy);
    const n = xy.length / 2;
    const coordinates = [0, 1].map((k) => Float64Array.from({ length: n }, (_, i) => xy[2 * i + k]));
    const { center, radius } = algebraicRound(coordinates, n);
    const round: EllipseMatrix = { x: center[0], y: center[1], xx: radius, xy: 0, yy: radius };
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

  stateOf({ major, minor }, [x, y], [ux, uy]) {
    const long = ux * ux + uy * uy;
    const part = (a: number, b: number, equal: number): number => minor * equal + ((major - minor) * a * b) / long;
    return { x, y, xx: part(ux, ux, 1), xy: part(ux, uy, 0), yy: part(uy, uy, 1) };
  },

  moved(state, by) {
    const at = (part: number): EllipseMatrix => ({
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
function arcOf({ x, y }: EllipseMatrix, xy: Float64Array): number {
  const angles = Float64Array.from({ length: xy.length / 2 }, (_, i) =>
    Math.atan2(xy[2 * i + 1] - y, xy[2 * i] - x),
  ).sort();
  let gap = angles[0] + 2 * Math.PI - angles[angles.length - 1];
  for (let i = 1; i < angles.length; i++) gap = Math.max(gap, angles[i] - angles[i - 1]);
  return 2 * Math.PI - gap;
}

const undetermined = (): FettleError =>
  new FettleError(
    'fit-undetermined',
    'The points do not determine an ellipse: they lie too nearly on a line or a short arc. Choose points farther around.',
  );
