import type { Feature, Fit, Frame, Vec2, Vec3 } from '@fettle/geom';
import { num } from '../drawing/svg-text.js';
import { pngBytes } from '../picture/png.js';
import { viewAxes } from '../picture/view.js';
import { shortNumber } from '../text/number-text.js';
import { base64 } from './html-base64.js';
import { cssColor, divergingColor, niceAbove } from './html-diverging.js';
import { type Html, html, raw } from './html-text.js';

const WIDTH = 540;
/** Largest height of the map itself, and the room for scale and legend below. */
const TALLEST = 240;
const LEGEND = 64;
const MARGIN = 12;

/**
 * Where on the feature its points lie inside and outside of it: a surface flattened (a cylinder or cone unrolled, a sphere seen from the
 * middle of its points), colored by the mean residual of each small field; an outline with its points standing off it, their residuals magnified.
 *
 * @param positions what `fit.used` counts, xyz xyz …, mm
 * @param range of the colors, mm either way
 * @param frame that flat features are set upright by
 */
export function residualMap(fit: Fit<Feature>, positions: Float64Array, range: number, frame: Frame): Html {
  const { feature } = fit;
  const isOutline = feature.kind === 'circle' || feature.kind === 'slot' || feature.kind === 'ellipse';
  const flat = flattened(fit, positions, frame);
  const drawn =
    isOutline || feature.kind === 'line'
      ? dotsOf(fit, flat, range, isOutline ? flatOutline(feature, fit, frame) : ALONG)
      : fieldsOf(fit, flat, range);
  const label = `Residual map of the ${feature.kind}, colors from -${shortNumber(range, 6)} to ${shortNumber(range, 6)} mm`;
  const height = drawn.height + 2 * MARGIN + LEGEND;
  const svg = `<svg viewBox="0 0 ${WIDTH} ${num(height)}" role="img" aria-label="${label}" font-family="Arial, Helvetica, sans-serif" font-size="12" fill="#16191d"><rect width="${WIDTH}" height="${num(height)}" fill="#ffffff"/>${drawn.svg}${legend(range, drawn.height + 2 * MARGIN + 12, drawn.scale)}</svg>`;
  return html`<figure>${raw(svg)}<figcaption>${WORDS[feature.kind]}${drawn.words}</figcaption></figure>`;
}

const WORDS: Readonly<Record<Feature['kind'], string>> = {
  plane: 'Residuals over the plane, seen against its normal.',
  line: 'Residuals along the line.',
  point: '',
  circle: 'Residuals around the circle, seen against its normal.',
  slot: 'Residuals around the slot, seen against its normal.',
  ellipse: 'Residuals around the ellipse, seen against its normal.',
  sphere: 'Residuals over the sphere, seen from above the middle of its points, areas kept.',
  cylinder: 'Residuals over the cylinder, unrolled: across the way around it, up its axis.',
  cone: 'Residuals over the cone, unrolled: across the way around it, up its axis.',
};

/** Flat places (x y x y …, mm) of the used points. */
function flattened({ feature, used, uncertainty }: Fit<Feature>, positions: Float64Array, frame: Frame): Float64Array {
  const flat = new Float64Array(2 * used.length);
  const { axes, at } = uncertainty;
  const [u, v, w] = axes;
  const off = (i: number): Vec3 => {
    const p = 3 * used[i]!;
    return [positions[p]! - at[0], positions[p + 1]! - at[1], positions[p + 2]! - at[2]];
  };
  if (feature.kind === 'cylinder' || feature.kind === 'cone') {
    const gap = widestGap(used.length, (i) => {
      const d = off(i);
      return Math.atan2(dot(d, v), dot(d, u));
    });
    let mean = 0;
    for (let i = 0; i < used.length; i++) {
      const d = off(i);
      mean += Math.hypot(dot(d, u), dot(d, v)) / used.length;
    }
    for (let i = 0; i < used.length; i++) {
      const d = off(i);
      const turn = Math.atan2(dot(d, v), dot(d, u)) - gap;
      flat[2 * i] = mean * (turn < 0 ? turn + 2 * Math.PI : turn);
      flat[2 * i + 1] = dot(d, w);
    }
    return flat;
  }
  if (feature.kind === 'sphere') return flattenedCap(feature, used, positions);
  const [right, up] = feature.kind === 'line' ? [w, undefined] : uprightIn(frame, w);
  for (let i = 0; i < used.length; i++) {
    const d = off(i);
    flat[2 * i] = dot(d, right);
    flat[2 * i + 1] = up ? dot(d, up) : 0;
  }
  return flat;
}

/** Right and up, in scan axes, of a picture against a normal, as views of the frame have them. */
function uprightIn(frame: Frame, normal: Vec3): [right: Vec3, up: Vec3] {
  const { right, up } = viewAxes({ from: [dot(normal, frame.x), dot(normal, frame.y), dot(normal, frame.z)] });
  const inScan = (v: Vec3): Vec3 =>
    [0, 1, 2].map((k) => v[0] * frame.x[k]! + v[1] * frame.y[k]! + v[2] * frame.z[k]!) as unknown as Vec3;
  return [inScan(right), inScan(up)];
}

/** The middle of the widest gap between angles, to a degree: where an unrolled surface is cut open. */
function widestGap(count: number, angleOf: (i: number) => number): number {
  const seen = new Uint8Array(360);
  for (let i = 0; i < count; i++) seen[Math.floor(((angleOf(i) / Math.PI + 1) * 180) % 360)] = 1;
  let [best, length] = [0, 0];
  for (let start = 0; start < 360; start++) {
    let run = 0;
    while (run < 360 && seen[(start + run) % 360] === 0) run++;
    if (run > length) [best, length] = [start, run];
  }
  return ((best + length / 2) / 180 - 1) * Math.PI;
}

/** Lambert's azimuthal equal-area projection about the mean direction of the points. */
function flattenedCap(
  { center, radius }: Extract<Feature, { kind: 'sphere' }>,
  used: Uint32Array,
  positions: Float64Array,
): Float64Array {
  const sum = [0, 0, 0];
  const direction = (i: number): Vec3 => {
    const p = 3 * used[i]!;
    const d: Vec3 = [positions[p]! - center[0], positions[p + 1]! - center[1], positions[p + 2]! - center[2]];
    const size = Math.hypot(...d) || 1;
    return [d[0] / size, d[1] / size, d[2] / size];
  };
  for (let i = 0; i < used.length; i++) {
    const d = direction(i);
    for (let k = 0; k < 3; k++) sum[k]! += d[k]!;
  }
  const size = Math.hypot(...sum);
  const w: Vec3 = size > 1e-9 * used.length ? [sum[0]! / size, sum[1]! / size, sum[2]! / size] : [0, 0, 1];
  const aside: Vec3 = Math.abs(w[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0];
  const across: Vec3 = [
    aside[1] * w[2] - aside[2] * w[1],
    aside[2] * w[0] - aside[0] * w[2],
    aside[0] * w[1] - aside[1] * w[0],
  ];
  const wide = Math.hypot(...across);
  const u: Vec3 = [across[0] / wide, across[1] / wide, across[2] / wide];
  const v: Vec3 = [w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0]];
  const flat = new Float64Array(2 * used.length);
  for (let i = 0; i < used.length; i++) {
    const d = direction(i);
    const k = radius * Math.sqrt(2 / Math.max(1e-9, 1 + dot(d, w)));
    flat[2 * i] = k * dot(d, u);
    flat[2 * i + 1] = k * dot(d, v);
  }
  return flat;
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

interface Drawn {
  readonly svg: string;
  readonly height: number;
  /** Units of the SVG a mm. */
  readonly scale: number;
  readonly words: string;
}

interface Span {
  readonly left: number;
  readonly low: number;
  readonly width: number;
  readonly height: number;
}

function spanOf(flat: Float64Array): Span {
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < flat.length; i += 2) {
    left = Math.min(left, flat[i]!);
    right = Math.max(right, flat[i]!);
    low = Math.min(low, flat[i + 1]!);
    high = Math.max(high, flat[i + 1]!);
  }
  return { left, low, width: Math.max(right - left, 1e-9), height: Math.max(high - low, 1e-9) };
}

const scaleFor = ({ width, height }: Span): number => Math.min((WIDTH - 2 * MARGIN) / width, TALLEST / height);

/** Fields across at most; fewer where each would hold less than this many points. */
const FIELDS = 180;
const PER_FIELD = 3;

/** A surface: the mean residual of each small field, as a picture of one pixel a field. */
function fieldsOf({ residuals }: Fit<Feature>, flat: Float64Array, range: number): Drawn {
  const span = spanOf(flat);
  const scale = scaleFor(span);
  const aspect = span.width / span.height;
  const most = Math.sqrt((residuals.length / PER_FIELD) * Math.max(aspect, 1 / aspect));
  const longest = Math.max(1, Math.min(FIELDS, Math.floor(most)));
  const field = Math.max(span.width, span.height) / longest;
  const columns = Math.max(1, Math.ceil(span.width / field - 1e-9));
  const rows = Math.max(1, Math.ceil(span.height / field - 1e-9));
  const sums = new Float64Array(columns * rows);
  const counts = new Uint32Array(columns * rows);
  for (let i = 0; i < residuals.length; i++) {
    const c = Math.min(columns - 1, Math.floor((flat[2 * i]! - span.left) / field));
    const r = Math.min(rows - 1, Math.floor((flat[2 * i + 1]! - span.low) / field));
    const at = (rows - 1 - r) * columns + c;
    sums[at]! += residuals[i]!;
    counts[at]!++;
  }
  const rgb = new Uint8Array(3 * columns * rows).fill(255);
  for (let at = 0; at < counts.length; at++)
    if (counts[at]! > 0) rgb.set(divergingColor(sums[at]! / counts[at]! / range), 3 * at);
  const png = pngBytes({ width: columns, height: rows, rgb }, { palette: true });
  const [w, h] = [columns * field * scale, rows * field * scale];
  return {
    svg: `<image x="${num((WIDTH - w) / 2)}" y="${MARGIN}" width="${num(w)}" height="${num(h)}" preserveAspectRatio="none" style="image-rendering:pixelated" href="data:image/png;base64,${base64(png)}"/>`,
    height: h,
    scale,
    words: ` Each field is the mean over ${shortNumber(field, 2)} × ${shortNumber(field, 2)} mm; white: no points.`,
  };
}

/** Dots drawn at most. */
const DOTS = 900;
/** How far the largest residual of the range stands off an outline, of its extent. */
const STAND_OFF = 0.08;

/** What points lie about, flat: where it is itself, and which way is out of it at a place. */
interface FlatOutline {
  /** Closed, x y x y …, mm; empty of a line. */
  readonly curve: Float64Array;
  outward(x: number, y: number): Vec2;
}

/** A line lies level: out of it is up. */
const ALONG: FlatOutline = { curve: new Float64Array(0), outward: () => [0, 1] };

const CURVE_POINTS = 240;

/** An outline in the axes its points are flattened to. */
function flatOutline(
  feature: Extract<Feature, { kind: 'circle' | 'slot' | 'ellipse' }>,
  { uncertainty: { axes, at } }: Fit<Feature>,
  frame: Frame,
): FlatOutline {
  const [right, up] = uprightIn(frame, axes[2]);
  const flat = (v: Vec3): Vec2 => [dot(v, right), dot(v, up)];
  const { center } = feature;
  const [cx, cy] = flat([center[0] - at[0], center[1] - at[1], center[2] - at[2]]);
  const [ux, uy] = feature.kind === 'circle' ? [1, 0] : flat(feature.direction);
  /** Along and across the feature's own direction. */
  const own = (x: number, y: number): Vec2 => [(x - cx) * ux + (y - cy) * uy, (y - cy) * ux - (x - cx) * uy];
  const unit = (a: number, b: number): Vec2 => {
    const size = Math.hypot(a, b) || 1;
    return [(a * ux - b * uy) / size, (a * uy + b * ux) / size];
  };
  const half = feature.kind === 'slot' ? (feature.length - feature.width) / 2 : 0;
  const curve = new Float64Array(2 * CURVE_POINTS);
  for (let i = 0; i < CURVE_POINTS; i++) {
    const turn = (2 * Math.PI * i) / CURVE_POINTS;
    let [a, b] = [Math.cos(turn), Math.sin(turn)];
    if (feature.kind === 'circle') [a, b] = [feature.radius * a, feature.radius * b];
    else if (feature.kind === 'ellipse') [a, b] = [feature.major * a, feature.minor * b];
    else [a, b] = [(feature.width / 2) * a + Math.sign(a) * half, (feature.width / 2) * b];
    curve[2 * i] = cx + a * ux - b * uy;
    curve[2 * i + 1] = cy + a * uy + b * ux;
  }
  return {
    curve,
    outward(x, y) {
      const [a, b] = own(x, y);
      if (feature.kind === 'slot') return unit(a - Math.max(-half, Math.min(half, a)), b);
      // Of an ellipse: its gradient where the points lie, near enough for a picture.
      return feature.kind === 'ellipse' ? unit(a / feature.major ** 2, b / feature.minor ** 2) : unit(a, b);
    },
  };
}

/** An outline or a line: dots that stand off it by their residuals, many times magnified. */
function dotsOf(
  { residuals }: Fit<Feature>,
  flat: Float64Array,
  range: number,
  { curve, outward }: FlatOutline,
): Drawn {
  const bare = spanOf(flat);
  const extent = Math.max(bare.width, bare.height);
  const magnified = niceBelow((STAND_OFF * extent) / range);
  const step = Math.max(1, Math.ceil(residuals.length / DOTS));
  const count = Math.ceil(residuals.length / step);
  const feet = new Float64Array(2 * count);
  const places = new Float64Array(2 * count);
  for (let i = 0, at = 0; i < residuals.length; i += step, at += 2) {
    const [x, y] = [flat[2 * i]!, flat[2 * i + 1]!];
    const [dx, dy] = outward(x, y);
    feet[at] = x - residuals[i]! * dx;
    feet[at + 1] = y - residuals[i]! * dy;
    const off = Math.max(-range, Math.min(range, residuals[i]!)) * magnified;
    places[at] = feet[at]! + off * dx;
    places[at + 1] = feet[at + 1]! + off * dy;
  }
  const span = spanOf(Float64Array.of(...places, ...curve));
  const scale = scaleFor(span);
  const left = (WIDTH - span.width * scale) / 2;
  const toX = (x: number): string => num(left + (x - span.left) * scale);
  const toY = (y: number): string => num(MARGIN + (span.low + span.height - y) * scale);
  const path = (from: Float64Array): string[] =>
    Array.from({ length: from.length / 2 }, (_, i) => `${toX(from[2 * i]!)} ${toY(from[2 * i + 1]!)}`);
  const [ends, starts] = [path(places), path(feet)];
  const dots = ends.map((end, i) => {
    const [x, y] = end.split(' ');
    return `<circle cx="${x}" cy="${y}" r="2.4" fill="${cssColor(divergingColor(residuals[i * step]! / range))}"/>`;
  });
  const outline =
    curve.length > 0 ? `<path d="M${path(curve).join('L')}Z" stroke="#4d555e" stroke-width="0.8" fill="none"/>` : '';
  return {
    svg: `${outline}<path d="${ends.map((end, i) => `M${starts[i]}L${end}`).join('')}" stroke="#b9bfc6" stroke-width="0.6" fill="none"/><g stroke="#4d555e" stroke-width="0.5">${dots.join('')}</g>`,
    height: span.height * scale,
    scale,
    words: ` Residuals magnified ${magnified} times.`,
  };
}

const niceBelow = (value: number): number => {
  const above = niceAbove(value);
  return above > value * (1 + 1e-9) ? niceAbove(value / 2.5 + 1e-12) : above;
};

/** The color bar with its ends in mm, and a bar for the scale of the map. */
function legend(range: number, top: number, scale: number): string {
  const steps = 40;
  const [left, width] = [MARGIN, 240];
  const bar = Array.from(
    { length: steps },
    (_, i) =>
      `<rect x="${num(left + (i * width) / steps)}" y="${num(top)}" width="${num(width / steps + 0.3)}" height="12" fill="${cssColor(divergingColor((2 * (i + 0.5)) / steps - 1))}"/>`,
  );
  const text = (x: number, anchor: string, words: string): string =>
    `<text x="${num(x)}" y="${num(top + 26)}" text-anchor="${anchor}">${words}</text>`;
  const length =
    [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].filter((mm) => mm * scale <= 150).at(-1) ?? 0.1;
  const right = WIDTH - MARGIN;
  return [
    ...bar,
    `<rect x="${left}" y="${num(top)}" width="${width}" height="12" fill="none" stroke="#16191d" stroke-width="0.7"/>`,
    text(left, 'start', `-${shortNumber(range, 6)}`),
    text(left + width / 2, 'middle', '0'),
    text(left + width, 'end', `${shortNumber(range, 6)} mm`),
    `<text x="${left}" y="${num(top + 42)}" font-size="11" fill="#4d555e">inside, below</text>`,
    `<text x="${left + width}" y="${num(top + 42)}" font-size="11" text-anchor="end" fill="#4d555e">outside, above</text>`,
    `<path d="M${num(right - length * scale)} ${num(top + 8)}v4h${num(length * scale)}v-4" fill="none" stroke="#16191d"/>`,
    text(right, 'end', `${shortNumber(length, 2)} mm`),
  ].join('');
}
