import type { FlatGrid } from './flat-grid.js';

/** Gaps between points along a curve: how far about a point the curve is told from. */
export const ABOUT = 4;
/** Least points a curve is told from. */
const LEAST = 4;
/** Of points on a curve the spread across it, squared, is at most this much of that along it. */
const SLENDER = 0.35;

/** Steps from point to point along a wall, over the distance within which a curve is told. */
const HOP = 1;

/** A place on the curve that the points about it lie on. */
export interface CurvePlace {
  readonly x: number;
  readonly y: number;
  /** Unit direction along the curve, either way. */
  readonly tx: number;
  readonly ty: number;
  /** How far neighbors are apart along it here, mm. */
  readonly gap: number;
}

/**
 * The place on the curve through the points about a point: along their direction of largest spread a parabola is fitted, and the
 * point moved onto it square to that direction (moving least squares: Lee, Computer Aided Geometric Design 17 (2000) 161).
 * Undefined where the points about it lie in no line: in a face that the plane runs along, or alone.
 */
export function curvePlace(flat: Float64Array, grid: FlatGrid, i: number, gap: number): CurvePlace | undefined {
  const reach = ABOUT * gap;
  const px = flat[2 * i];
  const py = flat[2 * i + 1];
  const near: number[] = [];
  grid.visit(px, py, reach, (j) => {
    near.push(j);
  });
  const n = near.length;
  if (n < LEAST) return undefined;
  const angle = directionOf(flat, near);
  if (angle === undefined) return undefined;
  // A few points of a face may lie in a line by chance, many do not. Another wall near by is no part of this one.
  const farther: number[] = [];
  grid.visit(px, py, 2 * reach, (j) => {
    farther.push(j);
  });
  if (
    directionOf(flat, farther) === undefined &&
    directionOf(flat, connected(flat, farther, i, HOP * reach)) === undefined
  )
    return undefined;
  const tx = Math.cos(angle);
  const ty = Math.sin(angle);
  // v = a + b·u + c·u², by moments about the point itself.
  const s = [n, 0, 0, 0, 0];
  const r = [0, 0, 0];
  for (const j of near) {
    const dx = flat[2 * j] - px;
    const dy = flat[2 * j + 1] - py;
    const u = dx * tx + dy * ty;
    const v = dy * tx - dx * ty;
    s[1] += u;
    s[2] += u * u;
    s[3] += u * u * u;
    s[4] += u * u * u * u;
    r[0] += v;
    r[1] += v * u;
    r[2] += v * u * u;
  }
  const determinant =
    s[0] * (s[2] * s[4] - s[3] * s[3]) - s[1] * (s[1] * s[4] - s[2] * s[3]) + s[2] * (s[1] * s[3] - s[2] * s[2]);
  let a = (r[0] * s[2] - r[1] * s[1]) / (s[0] * s[2] - s[1] * s[1]);
  let b = (s[0] * r[1] - s[1] * r[0]) / (s[0] * s[2] - s[1] * s[1]);
  // A parabola through places that are hardly three is none.
  if (determinant > 1e-6 * s[0] * s[2] * s[4]) {
    a =
      (r[0] * (s[2] * s[4] - s[3] * s[3]) - s[1] * (r[1] * s[4] - r[2] * s[3]) + s[2] * (r[1] * s[3] - r[2] * s[2])) /
      determinant;
    b =
      (s[0] * (r[1] * s[4] - r[2] * s[3]) - r[0] * (s[1] * s[4] - s[2] * s[3]) + s[2] * (s[1] * r[2] - s[2] * r[1])) /
      determinant;
  }
  const length = Math.hypot(1, b);
  return { x: px - a * ty, y: py + a * tx, tx: (tx - b * ty) / length, ty: (ty + b * tx) / length, gap };
}

/** The angle of the direction along which points are spread most; undefined where they are spread across it too. */
function directionOf(flat: Float64Array, points: readonly number[]): number | undefined {
  const [px, py] = [flat[2 * points[0]], flat[2 * points[0] + 1]];
  let sx = 0;
  let sy = 0;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (const j of points) {
    const x = flat[2 * j] - px;
    const y = flat[2 * j + 1] - py;
    sx += x;
    sy += y;
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  const n = points.length;
  xx -= (sx * sx) / n;
  xy -= (sx * sy) / n;
  yy -= (sy * sy) / n;
  const half = Math.hypot((xx - yy) / 2, xy);
  const most = (xx + yy) / 2 + half;
  const least = (xx + yy) / 2 - half;
  return most > 0 && least <= SLENDER * most ? Math.atan2(2 * xy, xx - yy) / 2 : undefined;
}

/** Of some points those that are reached from one of them by steps of `hop` at most. */
function connected(flat: Float64Array, points: readonly number[], from: number, hop: number): number[] {
  const reached = [from];
  let left = points.filter((j) => j !== from);
  for (let next = 0; next < reached.length; next++) {
    const k = reached[next];
    const isNear = (j: number) =>
      (flat[2 * j] - flat[2 * k]) ** 2 + (flat[2 * j + 1] - flat[2 * k + 1]) ** 2 <= hop * hop;
    reached.push(...left.filter(isNear));
    left = left.filter((j) => !isNear(j));
  }
  return reached;
}
