import { type Feature, type Fit, type Points, type Vec3, vec3 } from '@fettle/geom';
import type { ConeFace, CylinderFace, SphereFace, StepItem } from '@fettle/io';
import type { DrawnFeature } from './protocol.js';

const { addScaled, cross, distance, dot, normalize, perpendiculars, scale, subtract } = vec3;

/** Steps of a full turn. */
const TURN = 96;
/** Points looked at for the place a balloon points to. */
const LOOKED_AT = 2000;

/** A feature that reaches as far as its data do, as lines; `points` are those it was fitted to. */
export function drawnFeature(item: StepItem, points?: Points): DrawnFeature {
  const lines = linesOf(item).map((line) => Float32Array.from(line.flat()));
  return { anchor: points ? amidst(points) : middleOf(item), lines };
}

/** The point nearest to the middle of a fit's points: on the surface, where the middle itself may lie in the air. */
function amidst({ positions, select }: Points): Vec3 {
  const count = select ? select.length : positions.length / 3;
  const step = Math.max(1, Math.floor(count / LOOKED_AT));
  const places: Vec3[] = [];
  for (let i = 0; i < count; i += step) {
    const p = 3 * (select ? select[i]! : i);
    places.push([positions[p]!, positions[p + 1]!, positions[p + 2]!]);
  }
  const sum = places.reduce<Vec3>((s, p) => addScaled(s, p, 1 / places.length), [0, 0, 0]);
  return places.reduce((best, p) => (distance(p, sum) < distance(best, sum) ? p : best));
}

/** The points a fit used, where they are points of the scan or of a section. */
export const pointsUsed = (fit: Fit<Feature>, positions: Float64Array): Points => ({ positions, select: fit.used });

function middleOf(item: StepItem): Vec3 {
  switch (item.kind) {
    case 'point':
      return item.position;
    case 'plane':
      return item.point;
    case 'line':
      return addScaled(item.point, item.direction, (item.span[0] + item.span[1]) / 2);
    case 'cylinder':
      return addScaled(item.point, item.direction, (item.span[0] + item.span[1]) / 2);
    case 'cone':
      return addScaled(item.apex, item.direction, (item.span[0] + item.span[1]) / 2);
    case 'frame':
      return item.origin;
    case 'wire':
      return item.chains[0]![0]!.start;
    case 'circle':
      return addScaled(item.center, perpendiculars(item.normal)[0], item.radius);
    default:
      return item.center;
  }
}

/** What is drawn of a feature: outline of a plane, rims and axis of what is round about one. */
function linesOf(item: StepItem): Vec3[][] {
  switch (item.kind) {
    case 'plane': {
      const along = normalize(item.along);
      const across = cross(item.normal, along);
      const corner = (a: number, b: number): Vec3 =>
        addScaled(addScaled(item.point, along, (a * item.size[0]) / 2), across, (b * item.size[1]) / 2);
      return [[corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1), corner(-1, -1)]];
    }
    case 'line':
      return [item.span.map((s) => addScaled(item.point, item.direction, s))];
    case 'circle':
      return [arc(item.center, item.normal, item.radius, perpendiculars(item.normal)[0])];
    case 'sphere':
      return sphereLines(item);
    case 'cylinder':
      return roundLines(item, item.point, () => item.radius);
    case 'cone':
      return roundLines(item, item.apex, (at) => at * Math.tan(item.halfAngle));
    case 'slot': {
      const { center, direction, normal, length, width } = item;
      const half = (length - width) / 2;
      const across = cross(normal, direction);
      const end = (side: number): Vec3[] =>
        arc(addScaled(center, direction, side * half), normal, width / 2, scale(across, -side), Math.PI);
      const outline = [...end(1), ...end(-1)];
      return [[...outline, outline[0]!]];
    }
    case 'ellipse': {
      const { center, direction, normal, major, minor } = item;
      const across = cross(normal, direction);
      return [
        Array.from({ length: TURN + 1 }, (_, i) => {
          const angle = (2 * Math.PI * i) / TURN;
          return addScaled(addScaled(center, direction, major * Math.cos(angle)), across, minor * Math.sin(angle));
        }),
      ];
    }
    default:
      return [];
  }
}

/** An arc counterclockwise about a normal, from a direction square to it. */
function arc(center: Vec3, normal: Vec3, radius: number, from: Vec3, sweep = 2 * Math.PI): Vec3[] {
  const across = cross(normal, from);
  const steps = Math.max(2, Math.ceil((TURN * sweep) / (2 * Math.PI)));
  return Array.from({ length: steps + 1 }, (_, i) => {
    const angle = (sweep * i) / steps;
    return addScaled(addScaled(center, from, radius * Math.cos(angle)), across, radius * Math.sin(angle));
  });
}

/** Rims, axis, and of part of a turn its sides. */
function roundLines(
  { direction, span, turn }: CylinderFace | ConeFace,
  base: Vec3,
  radius: (at: number) => number,
): Vec3[][] {
  const at = (s: number): Vec3 => addScaled(base, direction, s);
  const start = turn ? squareTo(direction, turn.start) : perpendiculars(direction)[0];
  const rims = span.map((s) => arc(at(s), direction, radius(s), start, turn?.sweep));
  const sides = turn
    ? [
        [rims[0]![0]!, rims[1]![0]!],
        [rims[0]!.at(-1)!, rims[1]!.at(-1)!],
      ]
    : [];
  return [...rims, span.map(at), ...sides];
}

const squareTo = (axis: Vec3, v: Vec3): Vec3 => normalize(subtract(v, scale(axis, dot(axis, v))));

function sphereLines({ center, radius, cap }: SphereFace): Vec3[][] {
  if (cap === undefined)
    return (
      [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ] as const
    ).map((axis) => arc(center, axis, radius, perpendiculars(axis)[0]));
  const toward = normalize(cap.toward);
  const [u, v] = perpendiculars(toward);
  const rim = arc(
    addScaled(center, toward, radius * Math.cos(cap.halfAngle)),
    toward,
    radius * Math.sin(cap.halfAngle),
    u,
  );
  const over = (side: Vec3): Vec3[] =>
    Array.from({ length: 33 }, (_, i) => {
      const angle = cap.halfAngle * (i / 16 - 1);
      return addScaled(addScaled(center, toward, radius * Math.cos(angle)), side, radius * Math.sin(angle));
    });
  return [rim, over(u), over(v)];
}
