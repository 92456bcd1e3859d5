import type { Vec2 } from '@fettle/geom';

/** A rectangle in the plane, not along its axes. */
export interface Rectangle {
  readonly center: Vec2;
  /** Unit length, of the longer side. */
  readonly along: Vec2;
  /** Of the longer side, and of the other. */
  readonly size: readonly [length: number, width: number];
}

/**
 * The rectangle of least area that holds all points, xy xy …: one side of it lies on a side of their convex hull (Freeman and Shapira,
 * Communications of the ACM 18 (1975)). O(n log n + h²) with h corners of the hull.
 */
export function smallestRectangle(flat: Float64Array): Rectangle {
  const hull = convexHull(flat);
  let best: (Rectangle & { readonly area: number }) | undefined;
  hull.forEach((a, i) => {
    const b = hull[(i + 1) % hull.length]!;
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (length === 0 && hull.length > 1) return;
    const u: Vec2 = length === 0 ? [1, 0] : [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    const found = about(hull, u);
    if (best === undefined || found.area < best.area) best = found;
  });
  return best!;
}

/** The rectangle along u that holds the points. */
function about(hull: readonly Vec2[], [ux, uy]: Vec2): Rectangle & { readonly area: number } {
  let [lowU, highU, lowV, highV] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [x, y] of hull) {
    const u = ux * x + uy * y;
    const v = ux * y - uy * x;
    lowU = Math.min(lowU, u);
    highU = Math.max(highU, u);
    lowV = Math.min(lowV, v);
    highV = Math.max(highV, v);
  }
  const [u, v] = [(lowU + highU) / 2, (lowV + highV) / 2];
  const [length, width] = [highU - lowU, highV - lowV];
  return {
    center: [ux * u - uy * v, uy * u + ux * v],
    along: length >= width ? [ux, uy] : [-uy, ux],
    size: length >= width ? [length, width] : [width, length],
    area: length * width,
  };
}

/** Corners counterclockwise (Andrew's monotone chain, 1979). */
function convexHull(flat: Float64Array): Vec2[] {
  const count = flat.length / 2;
  const all = Array.from({ length: Math.min(count, FEW) }, (_, i): Vec2 => [flat[2 * i]!, flat[2 * i + 1]!]);
  return chained(count <= FEW ? all : outside(flat, chained(farthest(flat))));
}

function chained(points: Vec2[]): Vec2[] {
  points.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const chain = (ordered: readonly Vec2[]): Vec2[] => {
    const corners: Vec2[] = [];
    for (const p of ordered) {
      while (corners.length > 1 && turn(corners.at(-2)!, corners.at(-1)!, p) <= 0) corners.pop();
      corners.push(p);
    }
    if (corners.length > 1) corners.pop();
    return corners;
  };
  const below = chain(points);
  const above = chain(points.reverse());
  return [...below, ...above];
}

const turn = (a: Vec2, b: Vec2, c: Vec2): number => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

/** Points sorted without a second thought. */
const FEW = 4096;
/** Directions looked into for points that are surely corners. */
const WAYS = 32;

/** The farthest point in each of some directions. */
function farthest(flat: Float64Array): Vec2[] {
  return Array.from({ length: WAYS }, (_, w): Vec2 => {
    const x = Math.cos((2 * Math.PI * w) / WAYS);
    const y = Math.sin((2 * Math.PI * w) / WAYS);
    let best = 0;
    let far = -Infinity;
    for (let i = 0; i < flat.length; i += 2) {
      const reach = x * flat[i]! + y * flat[i + 1]!;
      if (reach > far) {
        far = reach;
        best = i;
      }
    }
    return [flat[best]!, flat[best + 1]!];
  });
}

/** The points that are not strictly inside a convex polygon, its corners among them (Akl and Toussaint, 1978). */
function outside(flat: Float64Array, polygon: readonly Vec2[]): Vec2[] {
  const kept: Vec2[] = [];
  const sides = polygon.length;
  const [px, py] = [Float64Array.from(polygon, (p) => p[0]), Float64Array.from(polygon, (p) => p[1])];
  for (let i = 0; i < flat.length; i += 2) {
    const x = flat[i]!;
    const y = flat[i + 1]!;
    let s = 0;
    for (let t = sides - 1; s < sides; t = s++)
      if ((px[s]! - px[t]!) * (y - py[t]!) - (py[s]! - py[t]!) * (x - px[t]!) <= 0) break;
    if (s < sides) kept.push([x, y]);
  }
  return kept;
}
