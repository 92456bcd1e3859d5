import type { FeatureKind } from '../../feature/feature.js';
import type { SeenPoints } from './seen-points.js';
import { alongSlant, slantOf } from './slant.js';

/** Points of a fit laid flat: what is a line on the surface is one here, nearly. */
export interface Chart {
  /** Places in the sample. */
  readonly points: Uint32Array;
  /** mm, one a point. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Whether the points lie along a curve: y is 0. */
  readonly isCurve: boolean;
  /** At which x is an arc about the feature's axis, mm; absent: it is none. */
  readonly radius?: number;
  /** Of the half-angle of a cone, less than 0 where it narrows along y, which runs along its surface from that radius. */
  readonly sin?: number;
}

/** Rounds that leave no larger gap are laid flat twice, cut open at opposite places, radians. */
const GAP = 0.35;
/** A sphere's points farther than this from the middle of a chart are left to other charts, radians. */
const FAR = 1.3;

/** One chart, or several that overlap where the surface closes on itself. */
export function chartsOf(kind: FeatureKind, seen: SeenPoints): Chart[] {
  const { count, local } = seen;
  const points = Uint32Array.from({ length: count }, (_, i) => i);
  const along = (a: number): Float64Array => Float64Array.from(points, (i) => local[3 * i + a]);
  switch (kind) {
    case 'plane':
      return [{ points, x: along(0), y: along(1), isCurve: false }];
    case 'line':
      return [{ points, x: along(2), y: new Float64Array(count), isCurve: true }];
    case 'circle':
      return aboutAxis(seen, points, new Float64Array(count), true);
    case 'cylinder':
      return aboutAxis(seen, points, along(2), false);
    case 'cone': {
      const { sin } = slantOf(seen.local);
      return aboutAxis(seen, points, alongSlant(seen.local), false).map((chart) => ({ ...chart, sin }));
    }
    case 'sphere':
      return aboutCenter(seen);
    default:
      return [];
  }
}

/** A cone steeper than this is as good as a cylinder: its apex is far away. */
const STEEP = 1e-6;

/** Places of a chart moved to where distances are those on the surface: a cone unrolls into a sector about its apex. */
export function trueToDistance(
  { sin = 0, radius = 0 }: Chart,
  x: Float64Array,
  y: Float64Array,
): readonly [x: Float64Array, y: Float64Array] {
  if (Math.abs(sin) < STEEP) return [x, y];
  const size = Math.abs(sin);
  const fromApex = y.map((along) => (radius + sin * along) / size);
  const turn = x.map((arc) => (arc / radius) * size);
  return [fromApex.map((far, i) => far * Math.sin(turn[i])), fromApex.map((far, i) => far * Math.cos(turn[i]))];
}

function aboutAxis({ count, local }: SeenPoints, points: Uint32Array, y: Float64Array, isCurve: boolean): Chart[] {
  const turns = new Float64Array(count);
  let radius = 0;
  for (let i = 0; i < count; i++) {
    turns[i] = Math.atan2(local[3 * i + 1], local[3 * i]);
    radius += Math.hypot(local[3 * i], local[3 * i + 1]) / count;
  }
  const { width, middle } = largestGap(turns);
  const seams = width > GAP ? [middle] : [middle, middle + Math.PI];
  const full = 2 * Math.PI;
  return seams.map((seam) => ({
    points,
    x: turns.map((turn) => radius * (turn - seam - full * Math.floor((turn - seam) / full))),
    y,
    isCurve,
    radius,
  }));
}

/** Of angles about a full turn, by bins of half a degree: cheaper than sorting. */
function largestGap(turns: Float64Array): { width: number; middle: number } {
  const bins = 720;
  const full = new Uint8Array(bins);
  for (const turn of turns) full[Math.min(bins - 1, Math.floor((turn / (2 * Math.PI) + 0.5) * bins))] = 1;
  let [best, end, run] = [0, 0, 0];
  for (let k = 0; k < 2 * bins; k++) {
    run = full[k % bins] ? 0 : run + 1;
    if (run > best && run <= bins) [best, end] = [run, k];
  }
  const each = (2 * Math.PI) / bins;
  return { width: best * each, middle: (end + 1 - best / 2) * each - Math.PI };
}

/** Equidistant from the middle of a cap; of more than a cap from both ends of each axis. */
function aboutCenter({ count, local }: SeenPoints): Chart[] {
  const mean = [0, 0, 0];
  let radius = 0;
  for (let i = 0; i < count; i++) {
    const far = Math.hypot(local[3 * i], local[3 * i + 1], local[3 * i + 2]) || 1;
    radius += far / count;
    for (let a = 0; a < 3; a++) mean[a] += local[3 * i + a] / far / count;
  }
  const length = Math.hypot(...mean);
  // The mean of a cap's unit vectors is (1 + cos h)/2 long, of half-angle h.
  if (length > (1 + Math.cos(FAR)) / 2)
    return [
      chartAbout(
        local,
        count,
        mean.map((m) => m / length),
        radius,
        Math.PI,
      ),
    ];
  return [0, 1, 2].flatMap((a) =>
    [1, -1].map((side) => {
      const w = [0, 0, 0];
      w[a] = side;
      return chartAbout(local, count, w, radius, FAR);
    }),
  );
}

function chartAbout(local: Float64Array, count: number, w: readonly number[], radius: number, far: number): Chart {
  const least = w.reduce((best, c, a) => (Math.abs(c) < Math.abs(w[best]) ? a : best), 0);
  const u = w.map((c, a) => (a === least ? 1 : 0) - c * w[least]);
  const long = Math.hypot(...u);
  for (let a = 0; a < 3; a++) u[a] /= long;
  const v = [w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0]];
  const points = new Uint32Array(count);
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  let n = 0;
  for (let i = 0; i < count; i++) {
    const [a, b, c] = [local[3 * i], local[3 * i + 1], local[3 * i + 2]];
    const up = a * w[0] + b * w[1] + c * w[2];
    const p = a * u[0] + b * u[1] + c * u[2];
    const q = a * v[0] + b * v[1] + c * v[2];
    const across = Math.hypot(p, q);
    const turn = Math.atan2(across, up);
    if (turn > far) continue;
    const stretch = across > 0 ? (radius * turn) / across : 0;
    points[n] = i;
    x[n] = p * stretch;
    y[n++] = q * stretch;
  }
  return { points: points.slice(0, n), x: x.slice(0, n), y: y.slice(0, n), isCurve: false };
}
