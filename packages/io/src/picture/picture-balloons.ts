import type { Vec2, Vec3 } from '@fettle/geom';
import { type Box, boxAbout, type Segment } from '../labels/box.js';
import { placeLabels } from '../labels/place-labels.js';
import type { Camera } from './camera.js';
import type { Canvas } from './canvas.js';
import { write } from './lettering.js';
import { INK, PAPER } from './tint.js';
import { isInFront, type Visible } from './visible.js';

/** A number in a circle, with a line to what it counts. */
export interface PictureBalloon {
  readonly number: number;
  /** Points of the scan it is about: the line ends on one of them that is seen. Balloons of hidden points are left out. */
  readonly points?: Uint32Array;
  /** A place in scan axes, for what has no points; seen unless the scan hides it. */
  readonly at?: Vec3;
}

/** Where a balloon came to lie, pixels. */
export interface PlacedBalloon {
  readonly number: number;
  readonly anchor: Vec2;
  readonly center: Vec2;
  readonly radius: number;
  readonly box: Box;
}

/** What of balloons is left when a scan is cut open, given the heights of its points and a way to those of places, mm. */
export function balloonsBeyond(
  balloons: readonly PictureBalloon[],
  heights: Float32Array,
  heightOf: (place: Vec3) => number,
  { scale, size }: Camera,
): PictureBalloon[] {
  const slack = (SLACK * Math.min(size.width, size.height)) / scale;
  return balloons.flatMap((balloon) => {
    const { points, at } = balloon;
    if (points) {
      const left = points.filter((p) => heights[p]! <= 0);
      return left.length > 0 ? [{ ...balloon, points: left }] : [];
    }
    return at && heightOf(at) <= slack ? [balloon] : [];
  });
}

/** Points tried for the end of a leader line. */
const TRIED = 4_000;
/** A place counts as seen if it is no deeper than this behind the skin, as a share of the picture. */
const SLACK = 0.012;

/** Where the leader line of a balloon ends, given the normals of a mesh: a seen point well inside those seen. */
export function anchorOf(
  balloon: PictureBalloon,
  camera: Camera,
  visible: Visible,
  samples: number,
  normals?: Float32Array,
): Vec2 | undefined {
  const slack = (SLACK * Math.min(camera.size.width, camera.size.height)) / camera.scale;
  const { width, height } = camera.size;
  const { points, at } = balloon;
  if (points === undefined) {
    if (at === undefined) return undefined;
    const [x, y] = camera.toPicture(at);
    if (x < 0 || y < 0 || x > width || y > height) return undefined;
    return isInFront(visible, x * samples, y * samples, camera.depthOf(at), slack) ? [x, y] : undefined;
  }
  const step = Math.max(1, Math.floor(points.length / TRIED));
  const seen: Vec2[] = [];
  for (let i = 0; i < points.length; i += step) {
    const p = points[i]!;
    const [x, y] = [visible.x[p]!, visible.y[p]!];
    if (normals && facing(normals, p, camera) <= 0) continue;
    if (isInFront(visible, x, y, visible.z[p]!, slack / 4)) seen.push([x / samples, y / samples]);
  }
  // A few points between others are no sight of the feature.
  if (seen.length < Math.max(1, (0.02 * points.length) / step)) return undefined;
  return wellInside(seen, Math.min(width, height) / 20);
}

/** Cosine between a point's normal and the way to the eye: a skin seen from its inside is no sight of the feature. */
const facing = (normals: Float32Array, p: number, { back }: Camera): number =>
  normals[3 * p]! * back[0] + normals[3 * p + 1]! * back[1] + normals[3 * p + 2]! * back[2];

/** Places compared for that. */
const COMPARED = 160;

/** The place with the most others about it, of equals the one nearest to the middle: not on the rim of a surface in two parts. */
function wellInside(places: readonly Vec2[], about: number): Vec2 {
  const step = Math.max(1, Math.ceil(places.length / COMPARED));
  const few = places.filter((_, i) => i % step === 0);
  const middle: Vec2 = [mean(few.map(([x]) => x)), mean(few.map(([, y]) => y))];
  let best = few[0]!;
  let most = Number.NEGATIVE_INFINITY;
  for (const place of few) {
    let count = 0;
    for (const other of few) if (Math.hypot(place[0] - other[0], place[1] - other[1]) < about) count++;
    const worth = count - (few.length * Math.hypot(place[0] - middle[0], place[1] - middle[1])) / (40 * about);
    if (worth > most) [best, most] = [place, worth];
  }
  return best;
}

const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;

/** How balloons look, pixels. */
const looks = (size: number) => ({ radius: size, figure: 0.86 * size, pen: Math.max(1, 0.12 * size) });

/** Places balloons so that none covers another, another's end of line or the datum frame; off the part rather than on it. */
export function placeBalloons(
  balloons: readonly { readonly number: number; readonly anchor: Vec2 }[],
  camera: Camera,
  visible: Visible,
  samples: number,
  triad: { readonly boxes: readonly Box[]; readonly lines: readonly Segment[] },
  radius: number,
): PlacedBalloon[] {
  const { width, height } = camera.size;
  const covered = coverage(visible, samples);
  const placed = placeLabels(
    balloons.map(({ anchor }) => ({ anchor, width: 2 * radius, height: 2 * radius })),
    {
      area: { left: 4, top: 4, right: width - 4, bottom: height - 4 },
      gap: radius / 2,
      reach: 3.2 * radius,
      obstacles: [...triad.boxes, ...balloons.map(({ anchor }) => boxAbout(anchor, radius / 2, radius / 2))],
      lines: triad.lines,
      cost: (box) => 1.5 * covered(box),
    },
  );
  return placed.flatMap((label, i) =>
    label ? [{ number: balloons[i]!.number, anchor: label.anchor, center: label.center, radius, box: label.box }] : [],
  );
}

/** Share of a box in which the scan is seen, from sums over the small pixels. */
function coverage({ owner, width, height }: Visible, samples: number): (box: Box) => number {
  const cell = 4 * samples;
  const [columns, rows] = [Math.ceil(width / cell), Math.ceil(height / cell)];
  const sums = new Float64Array((columns + 1) * (rows + 1));
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const at = Math.min(height - 1, r * cell + cell / 2) * width + Math.min(width - 1, c * cell + cell / 2);
      const i = (r + 1) * (columns + 1) + c + 1;
      sums[i] = (owner[at]! > 0 ? 1 : 0) + sums[i - 1]! + sums[i - columns - 1]! - sums[i - columns - 2]!;
    }
  return ({ left, top, right, bottom }) => {
    const column = (x: number): number => Math.max(0, Math.min(columns, Math.round((x * samples) / cell)));
    const row = (y: number): number => Math.max(0, Math.min(rows, Math.round((y * samples) / cell)));
    const [c0, c1, r0, r1] = [column(left), column(right), row(top), row(bottom)];
    const count = (c1 - c0) * (r1 - r0);
    const sum = (r: number, c: number): number => sums[r * (columns + 1) + c]!;
    return count > 0 ? (sum(r1, c1) - sum(r0, c1) - sum(r1, c0) + sum(r0, c0)) / count : 0;
  };
}

export function drawBalloons(canvas: Canvas, balloons: readonly PlacedBalloon[]): void {
  for (const { anchor, center, radius } of balloons) {
    const { pen } = looks(radius);
    canvas.stroke(anchor, center, pen, INK);
    canvas.disc(anchor, 2 * pen, INK);
  }
  for (const { number, center, radius } of balloons) {
    const { figure, pen } = looks(radius);
    canvas.disc(center, radius, INK);
    canvas.disc(center, radius - pen, PAPER);
    const text = String(number);
    write(canvas, text, center, text.length > 2 ? 0.7 * figure : figure, pen, INK);
  }
}
