import { type Cone, type Cylinder, type Line, type Plane, type Sphere, type Vec3, vec3 } from '@fettle/geom';
import type { ConeFace, CylinderFace, LineEdge, PlaneFace, SphereFace, Turn } from './item.js';
import { smallestRectangle } from './smallest-rectangle.js';

const { addScaled, distance, dot, normalize, perpendiculars, scale, subtract } = vec3;

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
  const flat = new Float64Array((points.length / 3) * 2);
  eachPoint(points, (p, i) => {
    const d = subtract(p, plane.point);
    flat[2 * i] = dot(d, u);
    flat[2 * i + 1] = dot(d, v);
  });
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
  let far = 0;
  eachPoint(points, (p) => {
    const d = subtract(p, line.point);
    far = Math.max(far, distance(d, scale(line.direction, dot(d, line.direction))));
  });
  return { ...line, span: spanAlong(line.point, line.direction, points, Math.max(LEAST, far)) };
}

/** A cylinder as long as the points, and as far around: all around where no gap is wider than 30°. */
export function cylinderExtent(cylinder: Cylinder, points: Float64Array): Cut<CylinderFace> {
  const { point, direction } = cylinder;
  return { ...cylinder, span: spanAlong(point, direction, points, THIN), ...turnAbout(point, direction, points) };
}

/** A cone as long as the points, and as far around: all around where no gap is wider than 30°. */
export function coneExtent(cone: Cone, points: Float64Array): Cut<ConeFace> {
  const { apex, direction } = cone;
  const [from, to] = spanAlong(apex, direction, points, 0);
  const least = Math.max(0, from);
  return { ...cone, span: [least, Math.max(to, least + THIN)], ...turnAbout(apex, direction, points) };
}

/** A sphere as the cap about the points' mean direction that holds them; the whole where that is past 150°. */
export function sphereExtent(sphere: Sphere, points: Float64Array): Cut<SphereFace> {
  const directions: Vec3[] = [];
  eachPoint(points, (p) => {
    if (distance(p, sphere.center) > 0) directions.push(normalize(subtract(p, sphere.center)));
  });
  let sum: Vec3 = [0, 0, 0];
  for (const d of directions) sum = addScaled(sum, d, 1);
  if (Math.hypot(...sum) < 1e-9 * directions.length) return sphere;
  const toward = normalize(sum);
  const cosine = directions.reduce((least, d) => Math.min(least, dot(d, toward)), 1);
  const halfAngle = Math.max(Math.acos(Math.max(-1, cosine)), THIN / sphere.radius);
  return halfAngle > WHOLE ? sphere : { ...sphere, cap: { toward, halfAngle } };
}

function spanAlong(from: Vec3, direction: Vec3, points: Float64Array, least: number): readonly [number, number] {
  let [low, high] = [Infinity, -Infinity];
  eachPoint(points, (p) => {
    const s = dot(subtract(p, from), direction);
    if (s < low) low = s;
    if (s > high) high = s;
  });
  const short = Math.max(0, least - (high - low)) / 2;
  return [low - short, high + short];
}

/** The turn that leaves out the widest gap; none where even that is narrow. */
function turnAbout(on: Vec3, axis: Vec3, points: Float64Array): { turn?: Turn } {
  const [u, v] = perpendiculars(axis);
  const angles = new Float64Array(points.length / 3);
  eachPoint(points, (p, i) => {
    const d = subtract(p, on);
    angles[i] = Math.atan2(dot(d, v), dot(d, u));
  });
  angles.sort();
  const count = angles.length;
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

function eachPoint(points: Float64Array, visit: (p: Vec3, i: number) => void): void {
  for (let i = 0; i < points.length; i += 3) visit([points[i]!, points[i + 1]!, points[i + 2]!], i / 3);
}
