import { type Feature, planeOf, type Vec2, type Vec3 } from '@fettle/geom';
import type { Shape } from './drawing.js';
import { middlePlace, type Reach, span } from './feature-reach.js';
import { dot, moved, type Sight } from './sight.js';

/** How a feature looks from one side. */
export interface Seen {
  readonly shapes: readonly Shape[];
  /** Where its balloon points. */
  readonly at?: Vec2;
  /** Its center, of features with one. */
  readonly center?: Vec3;
  /** A place on its round outline. */
  readonly rim?: Vec2;
  /** Seen edge on: the direction out of the material; of a round outline: away from its middle, at the rim. */
  readonly outward?: Vec2;
}

/** Within this of square or parallel, as a sine: 0.6°. */
const ALIGNED = 0.01;
/** A cylinder seen within this of its axis shows its end, as a sine: 3°. */
const END_ON = 0.05;
/** Center lines reach beyond what they are about by this share of their length. */
const BEYOND = 0.04;

/**
 * How a feature looks, as far as it reaches.
 *
 * @param side line of a cylinder's or cone's walls seen from the side: `hidden` of a bore, unless it is cut open there
 */
export function look(feature: Feature, sight: Sight, reach: Reach, side: 'outline' | 'hidden' = 'outline'): Seen {
  switch (feature.kind) {
    case 'plane':
      return lookAtPlane(feature.normal, feature.point, sight, reach);
    case 'line':
      return lookAtAxis(feature.point, feature.direction, sight, reach, 'thin');
    case 'point':
      return {
        shapes: [{ kind: 'center-mark', line: 'thin', center: sight.flat(feature.position), radius: 0 }],
        at: sight.flat(feature.position),
        center: feature.position,
      };
    case 'circle':
      return lookAtRing(
        feature.center,
        sight,
        ringOf(feature),
        feature.radius,
        Math.abs(dot(feature.normal, sight.back)),
      );
    case 'sphere': {
      const center = sight.flat(feature.center);
      return { ...fullCircle(center, feature.radius), center: feature.center };
    }
    case 'cylinder':
      return lookAtCylinder(feature, sight, reach, side);
    case 'cone':
      return { ...lookAtCone(feature, sight, reach, side), center: feature.apex };
    case 'slot':
    case 'ellipse':
      return lookAtRing(feature.center, sight, ringOf(feature), undefined, Math.abs(dot(feature.normal, sight.back)));
  }
}

function lookAtPlane(normal: Vec3, point: Vec3, sight: Sight, reach: Reach): Seen {
  const places = reach.map(sight.flat);
  const isEdgeOn = Math.abs(dot(normal, sight.back)) < 0.1;
  if (!isEdgeOn || places.length === 0) return { shapes: [], at: middlePlace(places) ?? sight.flat(point) };
  const [nx, ny] = sight.flatDirection(normal);
  const size = Math.hypot(nx, ny);
  const outward: Vec2 = [nx / size, ny / size];
  const along: Vec2 = [-outward[1], outward[0]];
  const foot = sight.flat(point);
  const offset = foot[0] * outward[0] + foot[1] * outward[1];
  const [from, to] = span(places.map(([x, y]) => x * along[0] + y * along[1]));
  const on = (s: number): Vec2 => [along[0] * s + outward[0] * offset, along[1] * s + outward[1] * offset];
  return { shapes: [segment(on(from), on(to), 'outline')], at: on((from + to) / 2), outward };
}

function lookAtAxis(point: Vec3, direction: Vec3, sight: Sight, reach: Reach, line: 'thin' | 'center'): Seen {
  const at = sight.flat(point);
  const isEndOn = Math.hypot(...sight.flatDirection(direction)) < ALIGNED;
  if (isEndOn) return { shapes: [{ kind: 'center-mark', line: 'center', center: at, radius: 2 }], at };
  if (reach.length === 0) return { shapes: [], at };
  const [from, to] = span(reach.map((p) => dot([p[0] - point[0], p[1] - point[1], p[2] - point[2]], direction)));
  const more = line === 'center' ? BEYOND * (to - from) : 0;
  const ends = [from - more, to + more].map((s) => sight.flat(moved(point, direction, s)));
  return {
    shapes: [segment(ends[0]!, ends[1]!, line)],
    at: [(ends[0]![0] + ends[1]![0]) / 2, (ends[0]![1] + ends[1]![1]) / 2],
  };
}

function lookAtCylinder(
  { point, direction, radius }: Extract<Feature, { kind: 'cylinder' }>,
  sight: Sight,
  reach: Reach,
  side: 'outline' | 'hidden',
): Seen {
  const [dx, dy] = sight.flatDirection(direction);
  const shown = Math.hypot(dx, dy);
  // One that is short leans by its ±: from its end it is round all the same.
  if (shown < END_ON) return fullCircle(sight.flat(middleAlong(point, direction, reach)), radius);
  const axis = lookAtAxis(point, direction, sight, reach, 'center');
  const [middle] = axis.shapes;
  if (middle?.kind !== 'polyline') return axis;
  const across: Vec2 = [(-dy / shown) * radius, (dx / shown) * radius];
  const [ax, ay, bx, by] = withoutBeyond(middle.flat);
  const sides = [-1, 1].map((s) =>
    segment([ax! + s * across[0], ay! + s * across[1]], [bx! + s * across[0], by! + s * across[1]], side),
  );
  return {
    ...axis,
    shapes: [...sides, middle],
    rim: [ax! + 0.7 * (bx! - ax!) + across[0], ay! + 0.7 * (by! - ay!) + across[1]],
    outward: [across[0] / radius, across[1] / radius],
  };
}

/** What a center line is about, from its ends. */
function withoutBeyond([ax, ay, bx, by]: Float64Array): readonly [number, number, number, number] {
  const share = BEYOND / (1 + 2 * BEYOND);
  const [dx, dy] = [share * (bx! - ax!), share * (by! - ay!)];
  return [ax! + dx, ay! + dy, bx! - dx, by! - dy];
}

/** From the side: both walls and the ends, as far as its points reach; else its axis alone. */
function lookAtCone(
  { apex, direction, halfAngle }: Extract<Feature, { kind: 'cone' }>,
  sight: Sight,
  reach: Reach,
  side: 'outline' | 'hidden',
): Seen {
  const axis = lookAtAxis(apex, direction, sight, reach, 'center');
  const [dx, dy] = sight.flatDirection(direction);
  const shown = Math.hypot(dx, dy);
  const [middle] = axis.shapes;
  if (middle?.kind !== 'polyline' || shown < 1 - ALIGNED) return axis;
  const [ax, ay, bx, by] = withoutBeyond(middle.flat);
  const [px, py] = sight.flat(apex);
  const corner = (x: number, y: number, way: number): Vec2 => {
    const wide = way * Math.hypot(x - px, y - py) * Math.tan(halfAngle);
    return [x - (dy / shown) * wide, y + (dx / shown) * wide];
  };
  const outline = [corner(ax!, ay!, 1), corner(bx!, by!, 1), corner(bx!, by!, -1), corner(ax!, ay!, -1)];
  return {
    ...axis,
    shapes: [{ kind: 'polyline', line: side, flat: Float64Array.from(outline.flat()), closed: true }, middle],
  };
}

/** The place on an axis in the middle of what it is about. */
function middleAlong(point: Vec3, direction: Vec3, reach: Reach): Vec3 {
  if (reach.length === 0) return point;
  const [from, to] = span(reach.map((p) => dot([p[0] - point[0], p[1] - point[1], p[2] - point[2]], direction)));
  return moved(point, direction, (from + to) / 2);
}

function fullCircle(center: Vec2, radius: number): Seen {
  const shapes: Shape[] = [
    { kind: 'arc', line: 'outline', center, radius, start: [center[0] + radius, center[1]], sweep: 2 * Math.PI },
    { kind: 'center-mark', line: 'center', center, radius },
  ];
  const place = (degrees: number): Vec2 => {
    const angle = (degrees * Math.PI) / 180;
    return [center[0] + radius * Math.cos(angle), center[1] + radius * Math.sin(angle)];
  };
  return { shapes, at: place(60), rim: place(-30), outward: [Math.cos(Math.PI / 6), -Math.sin(Math.PI / 6)] };
}

function lookAtRing(
  center: Vec3,
  sight: Sight,
  ring: readonly Vec3[],
  radius: number | undefined,
  faceOn: number,
): Seen {
  const middle = sight.flat(center);
  if (radius !== undefined && faceOn > 1 - ALIGNED ** 2 / 2) return { ...fullCircle(middle, radius), center };
  const places = ring.map(sight.flat);
  const reach = Math.max(...places.map(([x, y]) => Math.hypot(x - middle[0], y - middle[1])));
  return {
    shapes: [
      { kind: 'polyline', line: 'outline', flat: Float64Array.from(places.flat()), closed: true },
      { kind: 'center-mark', line: 'center', center: middle, radius: reach },
    ],
    at: places[0]!,
    center,
  };
}

/** Places around a flat outline, in scan axes. */
function ringOf(feature: Extract<Feature, { kind: 'circle' | 'slot' | 'ellipse' }>): Vec3[] {
  const { normal } = planeOf(feature);
  const u: Vec3 = 'direction' in feature ? feature.direction : anyAcross(normal);
  const v: Vec3 = [
    normal[1] * u[2] - normal[2] * u[1],
    normal[2] * u[0] - normal[0] * u[2],
    normal[0] * u[1] - normal[1] * u[0],
  ];
  return Array.from({ length: 96 }, (_, i) => {
    const angle = (2 * Math.PI * i) / 96;
    let [a, b] = [Math.cos(angle), Math.sin(angle)];
    if (feature.kind === 'circle') [a, b] = [feature.radius * a, feature.radius * b];
    else if (feature.kind === 'ellipse') [a, b] = [feature.major * a, feature.minor * b];
    else {
      const end = (feature.length - feature.width) / 2;
      [a, b] = [(feature.width / 2) * a + Math.sign(a) * end, (feature.width / 2) * b];
    }
    return moved(moved(feature.center, u, a), v, b);
  });
}

function anyAcross(n: Vec3): Vec3 {
  const least = n.map(Math.abs).indexOf(Math.min(...n.map(Math.abs)));
  const across: Vec3 = least === 0 ? [0, n[2], -n[1]] : least === 1 ? [-n[2], 0, n[0]] : [n[1], -n[0], 0];
  const size = Math.hypot(...across);
  return [across[0] / size, across[1] / size, across[2] / size];
}

const segment = (from: Vec2, to: Vec2, line: Shape['line']): Shape => ({
  kind: 'polyline',
  line,
  flat: Float64Array.of(...from, ...to),
  closed: false,
});
