import { type Cone, type Cylinder, type Line, type Plane, type Sphere, type Vec3, vec3 } from '@fettle/geom';
import type { ConeFace, CylinderFace, LineEdge, PlaneFace, SphereFace, Turn } from './item.js';
import { smallestRectangle } from './smallest-rectangle.js';

const { addScaled, normalize, perpendiculars } = vec3;

/** How far features reach, as their points tell. Points are xyz xyz …, mm, in the axes the feature is in. */

/** A gap in the points about an axis up to this wide is a groove or a hole, not the end of the surface, radians. */
const GAP = Math.PI / 6;
/** A cap that wide about its middle is taken for the whole sphere, radians. */
const WHOLE = (5 * Math.PI) / 6;
/** What no feature is shown smaller than, mm: enough to see and to pick. */
const LEAST = 1;
/** The same of parts of a turn and of cones, which reach from their points, mm. */
const THIN = 1e-3;

type Cut<F> = Omit<F, 'name'>;

/** A plane as the smallest rectangle that holds the points. */
export function planeExtent(plane: Plane, points: Float64Array): Cut<PlaneFace> {
  const [u, v] = perpendiculars(plane.normal);
  const { x, y, count } = seenFrom(plane.point, plane.normal, points);
  const flat = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    flat[2 * i] = x[i]!;
    flat[2 * i + 1] = y[i]!;
  }
  const { center, along, size } = smallestRectangle(flat);
  const inSpace = (a: number, b: number, from: Vec3): Vec3 => addScaled(addScaled(from, u, a), v, b);
  return {
    ...plane,
    point: inSpace(center[0], center[1], plane.point),
    along: inSpace(along[0], along[1], [0, 0, 0]),
    size: [Math.max(size[0], LEAST), Math.max(size[1], LEAST)],
  };
}

/** A line as long as the points along it; one they hardly tell the length of, as long as they lie far from it: the axis of a circle. */
export function lineExtent(line: Line, points: Float64Array): Cut<LineEdge> {
  const { x, y, z, count } = seenFrom(line.point, line.direction, points);
  let far = 0;
  for (let i = 0; i < count; i++) far = Math.max(far, x[i]! * x[i]! + y[i]! * y[i]!);
  return { ...line, span: spanOf(z, Math.max(LEAST, Math.sqrt(far))) };
}

/** A cylinder as long as the points, and as far around: all around where no gap is wider than 30°. */
export function cylinderExtent(cylinder: Cylinder, points: Float64Array): Cut<CylinderFace> {
  const seen = seenFrom(cylinder.point, cylinder.direction, points);
  return { ...cylinder, span: spanOf(seen.z, THIN), ...turnOf(seen, cylinder.direction) };
}

/** A cone as long as the points, and as far around: all around where no gap is wider than 30°. */
export function coneExtent(cone: Cone, points: Float64Array): Cut<ConeFace> {
  const seen = seenFrom(cone.apex, cone.direction, points);
  const [from, to] = spanOf(seen.z, 0);
  const least = Math.max(0, from);
  return { ...cone, span: [least, Math.max(to, least + THIN)], ...turnOf(seen, cone.direction) };
}

/** A sphere as the cap about the points' mean direction that holds them; the whole where that is past 150°. */
export function sphereExtent(sphere: Sphere, points: Float64Array): Cut<SphereFace> {
  const { x, y, z, count } = seenFrom(sphere.center, [0, 0, 1], points);
  const [u, v] = perpendiculars([0, 0, 1]);
  let [a, b, c] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    const far = Math.hypot(x[i]!, y[i]!, z[i]!) || 1;
    a += x[i]! / far;
    b += y[i]! / far;
    c += z[i]! / far;
  }
  const mean = Math.hypot(a, b, c);
  if (mean < 1e-9 * count) return sphere;
  [a, b, c] = [a / mean, b / mean, c / mean];
  let cosine = 1;
  for (let i = 0; i < count; i++) {
    const far = Math.hypot(x[i]!, y[i]!, z[i]!) || 1;
    cosine = Math.min(cosine, (a * x[i]! + b * y[i]! + c * z[i]!) / far);
  }
  const halfAngle = Math.max(Math.acos(Math.max(-1, cosine)), THIN / sphere.radius);
  if (halfAngle > WHOLE) return sphere;
  return { ...sphere, cap: { toward: normalize(addScaled(addScaled([0, 0, c], u, a), v, b)), halfAngle } };
}

/** Points in the axes of a feature: z along w, x and y along its perpendiculars. */
interface Seen {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

function seenFrom(at: Vec3, w: Vec3, points: Float64Array): Seen {
  const [u, v] = perpendiculars(w);
  const count = points.length / 3;
  const [x, y, z] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  for (let i = 0; i < count; i++) {
    const dx = points[3 * i]! - at[0];
    const dy = points[3 * i + 1]! - at[1];
    const dz = points[3 * i + 2]! - at[2];
    x[i] = u[0] * dx + u[1] * dy + u[2] * dz;
    y[i] = v[0] * dx + v[1] * dy + v[2] * dz;
    z[i] = w[0] * dx + w[1] * dy + w[2] * dz;
  }
  return { count, x, y, z };
}

/** From the lowest to the highest, and at least so long. */
function spanOf(levels: Float64Array, least: number): readonly [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const level of levels) {
    if (level < low) low = level;
    if (level > high) high = level;
  }
  const short = Math.max(0, least - (high - low)) / 2;
  return [low - short, high + short];
}

/** The turn that leaves out the widest gap; none where even that is narrow. */
function turnOf({ x, y, count }: Seen, axis: Vec3): { turn?: Turn } {
  const [u, v] = perpendiculars(axis);
  const angles = new Float64Array(count);
  for (let i = 0; i < count; i++) angles[i] = Math.atan2(y[i]!, x[i]!);
  angles.sort();
  let gap = angles[0]! + 2 * Math.PI - angles[count - 1]!;
  let first = 0;
  for (let i = 1; i < count; i++) {
    if (angles[i]! - angles[i - 1]! <= gap) continue;
    gap = angles[i]! - angles[i - 1]!;
    first = i;
  }
  if (gap <= GAP) return {};
  const at = angles[first]!;
  const start = addScaled(addScaled([0, 0, 0], u, Math.cos(at)), v, Math.sin(at));
  return { turn: { start, sweep: Math.max(2 * Math.PI - gap, 1e-4) } };
}
