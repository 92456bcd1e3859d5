import { FettleError, type Warning } from '../../error.js';
import type { Slot } from '../../feature/feature.js';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import type { Points } from '../../scan/scan.js';
import { lengthText } from '../../text/number-text.js';
import { narrowestStrip } from '../extremes/strip.js';
import type { Fit } from '../fit.js';
import { type FlatOptions, fitInPlane } from './flat-fit.js';
import type { FlatDistance, FlatShape } from './flat-shape.js';

export type SlotOptions = FlatOptions<Slot>;

/**
 * The slot, two parallel sides joined by half circles, with the least sum of squared distances from the points of its
 * outline: a section of a milled slot. Center, direction, length and width are all fitted. Nothing need be known of it:
 * the fit starts along the narrowest strip that holds the points and along others all around, as wide as the points and
 * twice as wide to either side, for outlines with a side missing.
 *
 * `length` is overall; the centers of its round ends are `length − width` apart. Of a part of the outline the rest is
 * told in words: a side without points (`slot-side-missing`), an end without points (`slot-end-missing`: the length is
 * then a least one), ends so near each other that it is hardly longer than wide (`direction-undetermined`).
 *
 * @throws FettleError `bad-points`, `points-length`, `points-empty`, `too-few-points` (5), `points-coincide`,
 * `points-too-small`, `points-too-large`, `points-not-finite`, `points-index-range`, `collinear-points`,
 * `fit-undetermined` when less than that is shown, `bad-option`
 */
export const fitSlot = (points: Points, options: SlotOptions = {}): Fit<Slot> => fitInPlane(slot, points, options);

/** In the plane's axes, mm; (ux, uy) of unit length along the sides. */
interface State {
  readonly x: number;
  readonly y: number;
  readonly ux: number;
  readonly uy: number;
  readonly length: number;
  readonly width: number;
}

/** Directions tried all around. */
const DIRECTIONS = 8;
/** Parts each side and end is looked at in, at most; with few points, of three points each. */
const PARTS = 20;
const POINTS_A_PART = 3;
/** Of the parts of a side or an end, the share that must hold points for it to be there. */
const SHOWN = 0.25;
const isThere = (share: number): boolean => share >= SHOWN;
/** Of sides shorter than this share of the width nobody need see points. */
const SHORT = 0.1;

/**
 * Distance from the straight piece between the ends' centers, less half the width; derivatives as the table has them.
 */
function distanceFrom({ x: cx, y: cy, ux, uy, length, width }: State): FlatDistance {
  const half = (length - width) / 2;
  return (x, y, gradient) => {
    const s = ux * (x - cx) + uy * (y - cy);
    const t = ux * (y - cy) - uy * (x - cx);
    const e = Math.max(0, Math.abs(s) - half);
    const far = Math.sqrt(e * e + t * t);
    const ns = far > 0 ? (Math.sign(s) * e) / far : 0;
    const nt = far > 0 ? t / far : 1;
    const end = far > 0 ? e / far / 2 : 0;
    gradient[0] = -ns;
    gradient[1] = -nt;
    gradient[2] = ns * t - nt * s;
    gradient[3] = -end;
    gradient[4] = end - 0.5;
    return far - width / 2;
  };
}

const slot: FlatShape<State, Slot> = {
  kind: 'slot',
  distance: distanceFrom,
  tableDistance: distanceFrom,

  starts(xy) {
    const strip = narrowestStrip(xy);
    const angles = Array.from({ length: DIRECTIONS }, (_, k) => (k * Math.PI) / DIRECTIONS);
    if (strip) angles.unshift(Math.atan2(-strip.normal[0], strip.normal[1]));
    angles.unshift(longestDirection(xy));
    return angles.flatMap((angle) => startsAlong(xy, Math.cos(angle), Math.sin(angle)));
  },

  stateOf({ length, width }, [x, y], [ux, uy]) {
    const long = Math.hypot(ux, uy);
    return { x, y, ux: ux / long, uy: uy / long, length, width };
  },

  moved(state, by) {
    const { ux, uy } = state;
    const turned = Math.hypot(1, by[2]);
    const width = Math.max(state.width + by[4], 1e-3 * state.width);
    return {
      x: state.x + by[0] * ux - by[1] * uy,
      y: state.y + by[0] * uy + by[1] * ux,
      ux: (ux - by[2] * uy) / turned,
      uy: (uy + by[2] * ux) / turned,
      length: Math.max(state.length + by[3], width),
      width,
    };
  },

  settle(state, xy) {
    // Without points on an end any length beyond the last of them fits as well: the least is told.
    const { ends } = shown(state, xy);
    const half = (state.length - state.width) / 2;
    const [from, to] = [-1, 1].map((side, k) => {
      if (isThere(ends[k]) || half === 0) return side * half;
      let last = -half;
      for (let i = 0; i < xy.length; i += 2) {
        const s = side * (state.ux * (xy[i] - state.x) + state.uy * (xy[i + 1] - state.y));
        if (s <= half) last = Math.max(last, s);
      }
      return side * last;
    });
    const middle = (from + to) / 2;
    return {
      ...state,
      x: state.x + middle * state.ux,
      y: state.y + middle * state.uy,
      length: to - from + state.width,
    };
  },

  place: (state) => state,

  feature: ({ length, width }, center, normal, direction) => ({
    kind: 'slot',
    center,
    normal,
    direction,
    length,
    width,
  }),

  reach: ({ length }) => length / 2,

  judge(state, xy, rms, covariance) {
    const { length, width } = state;
    const { sides, ends } = shown(state, xy);
    // Sides no farther apart than the noise are one line.
    if (width < 6 * rms || !(ends.some(isThere) || sides.every(isThere))) throw undetermined();
    const warnings: Warning[] = [];
    if (!sides.every(isThere))
      warnings.push({
        code: 'slot-side-missing',
        message:
          `There are hardly any points on ${sides.some(isThere) ? 'one straight side' : 'the straight sides'}: the width, ` +
          `${lengthText(width)}, rests on the round ends. Choose points all around, or measure it by hand.`,
      });
    if (!ends.every(isThere))
      warnings.push({
        code: 'slot-end-missing',
        message:
          `There are hardly any points on ${ends.some(isThere) ? 'one round end' : 'the round ends'}: the length, ` +
          `${lengthText(length)}, is only the least it can be. Choose points all around, or measure it by hand.`,
      });
    const variance = covariance[18] + covariance[24] - 2 * covariance[19];
    if (ends.every(isThere) && length - width < 2 * Math.sqrt(Math.max(0, variance)))
      warnings.push({
        code: 'direction-undetermined',
        message:
          `The slot is ${lengthText(length - width)} longer than wide, less than that is uncertain: its direction means nothing. ` +
          'Fit a circle.',
      });
    return { coverage: { length }, warnings };
  },
};

/** Along the longest principal axis of the points. */
function longestDirection(xy: Float64Array): number {
  const n = xy.length / 2;
  let [sx, sy, xx, yy, cross] = [0, 0, 0, 0, 0];
  for (let k = 0; k < xy.length; k += 2) {
    sx += xy[k];
    sy += xy[k + 1];
    xx += xy[k] * xy[k];
    yy += xy[k + 1] * xy[k + 1];
    cross += xy[k] * xy[k + 1];
  }
  const off = cross - (sx * sy) / n;
  const { vectors } = symmetricEigen([xx - (sx * sx) / n, off, off, yy - (sy * sy) / n], 2);
  return Math.atan2(vectors[1][1], vectors[1][0]);
}

/**
 * Slots along a direction that the points just fill, and twice as wide to either side; but for half a percent of
 * specks.
 */
function startsAlong(xy: Float64Array, ux: number, uy: number): State[] {
  const n = xy.length / 2;
  const along = new Float64Array(n);
  const across = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    along[i] = ux * xy[2 * i] + uy * xy[2 * i + 1];
    across[i] = ux * xy[2 * i + 1] - uy * xy[2 * i];
  }
  along.sort();
  across.sort();
  const out = Math.floor(0.005 * n);
  const [s0, s1, t0, t1] = [along[out], along[n - 1 - out], across[out], across[n - 1 - out]];
  const wide = Math.max(t1 - t0, 1e-6 * (s1 - s0));
  const from = (middle: number, width: number): State => {
    const s = (s0 + s1) / 2;
    return {
      x: s * ux - middle * uy,
      y: s * uy + middle * ux,
      ux,
      uy,
      length: Math.max(s1 - s0, width),
      width,
    };
  };
  return [from((t0 + t1) / 2, wide), from(t0, 2 * wide), from(t1, 2 * wide)];
}

/** Of each side and each end, the share of its parts that hold points. */
function shown(state: State, xy: Float64Array): { sides: number[]; ends: number[] } {
  const { x: cx, y: cy, ux, uy, length, width } = state;
  const half = (length - width) / 2;
  const around = 4 * half + Math.PI * width;
  const partsOf = (long: number) =>
    Math.max(1, Math.min(PARTS, Math.floor((xy.length * long) / around / 2 / POINTS_A_PART)));
  const [sideParts, endParts] = [partsOf(2 * half), partsOf((Math.PI / 2) * width)];
  const sides = [new Set<number>(), new Set<number>()];
  const ends = [new Set<number>(), new Set<number>()];
  for (let k = 0; k < xy.length; k += 2) {
    const s = ux * (xy[k] - cx) + uy * (xy[k + 1] - cy);
    const t = ux * (xy[k + 1] - cy) - uy * (xy[k] - cx);
    if (Math.abs(s) < half) sides[t > 0 ? 1 : 0].add(Math.floor(((s + half) / (2 * half)) * sideParts));
    else ends[s > 0 ? 1 : 0].add(Math.floor((Math.atan2(t, Math.abs(s) - half) / Math.PI + 0.5) * endParts));
  }
  return {
    sides: sides.map((parts) => (2 * half > SHORT * width ? parts.size / sideParts : 1)),
    ends: ends.map((parts) => parts.size / endParts),
  };
}

const undetermined = (): FettleError =>
  new FettleError(
    'fit-undetermined',
    'The points show too little of a slot: neither a round end nor both sides. Choose points all around its outline.',
  );
