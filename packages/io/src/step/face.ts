import { type Vec3, vec3 } from '@fettle/geom';
import { circle, line, squareTo, turned } from './curve.js';
import { listText, realText, stringText } from './exchange-text.js';
import type { Instances, Reference } from './instances.js';
import type { ConeFace, CylinderFace, PlaneFace, SphereFace, Turn } from './item.js';
import { placement, point } from './placement.js';

const { addScaled, cross, normalize, perpendiculars, scale, subtract } = vec3;

export type FaceItem = PlaneFace | CylinderFace | ConeFace | SphereFace;

/** An item as a model of one shell, its name on the model, the shell and its faces. */
export function surfaceModel(to: Instances, item: FaceItem): Reference {
  const name = stringText(item.name);
  const faces = facesOf(to, item);
  const shell = to.add(`${item.kind === 'sphere' && !item.cap ? 'CLOSED' : 'OPEN'}_SHELL(${name},${listText(faces)})`);
  return to.add(`SHELL_BASED_SURFACE_MODEL(${name},(${shell}))`);
}

function facesOf(to: Instances, item: FaceItem): Reference[] {
  if (item.kind === 'plane') return [planeFace(to, item)];
  if (item.kind === 'cylinder') return [cylinderFace(to, item)];
  if (item.kind === 'cone') return [coneFace(to, item)];
  return item.cap ? [capFace(to, item, item.cap)] : sphereFaces(to, item);
}

function planeFace(to: Instances, { name, point: center, normal, along, size }: PlaneFace): Reference {
  const x = squareTo(normal, along);
  const y = cross(normal, x);
  const at = (u: number, v: number): Vec3 => addScaled(addScaled(center, x, (u * size[0]) / 2), y, (v * size[1]) / 2);
  const corners = [at(-1, -1), at(1, -1), at(1, 1), at(-1, 1)];
  const vertices = corners.map((corner) => vertex(to, corner));
  const edges = corners.map((corner, i) => {
    const next = (i + 1) % 4;
    return edge(to, vertices[i]!, vertices[next]!, line(to, corner, normalize(subtract(corners[next]!, corner))));
  });
  const surface = to.add(`PLANE('',${placement(to, center, normal, x)})`);
  return face(
    to,
    name,
    surface,
    edges.map((e) => [e, true]),
  );
}

function cylinderFace(
  to: Instances,
  { name, point: on, direction: axis, radius, span, turn }: CylinderFace,
): Reference {
  const x = startOf(axis, turn);
  const [from, until] = span.map((s) => addScaled(on, axis, s)) as [Vec3, Vec3];
  const surface = to.add(`CYLINDRICAL_SURFACE('',${placement(to, from, axis, x)},${realText(radius)})`);
  const straight = (a: Vec3, b: Vec3) => line(to, a, normalize(subtract(b, a)));
  return roundFace(to, {
    name,
    axis,
    x,
    turn,
    lower: { center: from, radius },
    upper: { center: until, radius },
    surface,
    meridian: straight,
  });
}

function coneFace(to: Instances, { name, apex, direction: axis, halfAngle, span, turn }: ConeFace): Reference {
  const x = startOf(axis, turn);
  const [from, until] = span.map((s) => ({ center: addScaled(apex, axis, s), radius: s * Math.tan(halfAngle) })) as [
    Ring,
    Ring,
  ];
  // At the wide end: a surface may be placed at its apex, but not every reader takes a radius of 0.
  const surface = to.add(
    `CONICAL_SURFACE('',${placement(to, until.center, axis, x)},${realText(until.radius)},${realText(halfAngle)})`,
  );
  const straight = (a: Vec3, b: Vec3) => line(to, a, normalize(subtract(b, a)));
  return roundFace(to, { name, axis, x, turn, lower: from, upper: until, surface, meridian: straight });
}

function capFace(to: Instances, { name, center, radius }: SphereFace, cap: NonNullable<SphereFace['cap']>): Reference {
  const pole = normalize(cap.toward);
  const x = perpendiculars(pole)[0];
  const surface = to.add(`SPHERICAL_SURFACE('',${placement(to, center, pole, x)},${realText(radius)})`);
  const lower = {
    center: addScaled(center, pole, radius * Math.cos(cap.halfAngle)),
    radius: radius * Math.sin(cap.halfAngle),
  };
  const upper = { center: addScaled(center, pole, radius), radius: 0 };
  const meridian = () => circle(to, center, cross(x, pole), x, radius);
  return roundFace(to, { name, axis: pole, x, lower, upper, surface, meridian });
}

/** Two halves that share their rim. */
function sphereFaces(to: Instances, { name, center, radius }: SphereFace): Reference[] {
  const north: Vec3 = [0, 0, 1];
  const x: Vec3 = [1, 0, 0];
  const surface = to.add(`SPHERICAL_SURFACE('',${placement(to, center, north, x)},${realText(radius)})`);
  const on = vertex(to, addScaled(center, x, radius));
  const rim = edge(to, on, on, circle(to, center, north, x, radius));
  return [north, scale(north, -1)].map((pole) => {
    const top = vertex(to, addScaled(center, pole, radius));
    const seam = edge(to, on, top, circle(to, center, cross(x, pole), x, radius));
    const isNorth = pole === north;
    return face(to, name, surface, [
      [rim, isNorth],
      [seam, true],
      [seam, false],
    ]);
  });
}

interface Ring {
  readonly center: Vec3;
  /** 0: all of it in its center. */
  readonly radius: number;
}

/** A surface of revolution between two rings, either of which may be a point. Seen from outside its loop turns left. */
function roundFace(
  to: Instances,
  shape: {
    readonly name: string;
    readonly axis: Vec3;
    readonly x: Vec3;
    readonly turn?: Turn | undefined;
    readonly lower: Ring;
    readonly upper: Ring;
    readonly surface: Reference;
    meridian(from: Vec3, to: Vec3): Reference;
  },
): Reference {
  const { name, axis, x, turn, lower, upper, surface, meridian } = shape;
  const far = turn ? turned(x, axis, turn.sweep) : x;
  const corner = (ring: Ring, way: Vec3): Corner => {
    const at = addScaled(ring.center, way, ring.radius);
    return { at, vertex: vertex(to, at) };
  };
  const corners = (ring: Ring): [Corner, Corner] => {
    const first = corner(ring, x);
    return [first, turn && ring.radius > 0 ? corner(ring, far) : first];
  };
  const arc = (ring: Ring, [first, last]: readonly [Corner, Corner]) =>
    ring.radius > 0 ? edge(to, first.vertex, last.vertex, circle(to, ring.center, axis, x, ring.radius)) : undefined;
  const side = (a: Corner, b: Corner) => edge(to, a.vertex, b.vertex, meridian(a.at, b.at));

  const [low, high] = [corners(lower), corners(upper)];
  const [below, above] = [arc(lower, low), arc(upper, high)];
  const first = side(low[0], high[0]);
  const last = turn ? side(low[1], high[1]) : first;
  return face(to, name, surface, [
    ...(below ? [[below, true] as const] : []),
    [last, true],
    ...(above ? [[above, false] as const] : []),
    [first, false],
  ]);
}

interface Corner {
  readonly at: Vec3;
  readonly vertex: Reference;
}

const startOf = (axis: Vec3, turn: Turn | undefined): Vec3 =>
  turn ? squareTo(axis, turn.start) : perpendiculars(axis)[0];

const vertex = (to: Instances, p: Vec3): Reference => to.add(`VERTEX_POINT('',${point(to, p)})`);

const edge = (to: Instances, start: Reference, end: Reference, curve: Reference): Reference =>
  to.add(`EDGE_CURVE('',${start},${end},${curve},.T.)`);

function face(
  to: Instances,
  name: string,
  surface: Reference,
  edges: readonly (readonly [edge: Reference, forward: boolean])[],
): Reference {
  const oriented = edges.map(([e, forward]) => to.add(`ORIENTED_EDGE('',*,*,${e},.${forward ? 'T' : 'F'}.)`));
  const loop = to.add(`EDGE_LOOP('',${listText(oriented)})`);
  const bound = to.add(`FACE_OUTER_BOUND('',${loop},.T.)`);
  return to.add(`ADVANCED_FACE(${stringText(name)},(${bound}),${surface},.T.)`);
}
