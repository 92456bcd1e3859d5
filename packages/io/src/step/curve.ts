import { type Vec3, vec3 } from '@fettle/geom';
import { listText, realText, stringText } from './exchange-text.js';
import type { Instances, Reference } from './instances.js';
import type { WirePiece } from './item.js';
import { direction, placement, point } from './placement.js';

const { addScaled, cross, distance, dot, normalize, scale, subtract } = vec3;

/** A line from a point along a unit direction; its parameter counts millimeters from the point. */
export const line = (to: Instances, from: Vec3, along: Vec3): Reference =>
  to.add(`LINE('',${point(to, from)},${to.add(`VECTOR('',${direction(to, along)},1.)`)})`);

/** A circle about `normal`; its parameter counts radians from the direction of `x`. */
export const circle = (to: Instances, center: Vec3, normal: Vec3, x: Vec3, radius: number, name = ''): Reference =>
  to.add(`CIRCLE(${stringText(name)},${placement(to, center, normal, x)},${realText(radius)})`);

export const ellipse = (
  to: Instances,
  {
    center,
    normal,
    direction: x,
    major,
    minor,
    name,
  }: { name: string } & Record<'center' | 'normal' | 'direction', Vec3> & Record<'major' | 'minor', number>,
): Reference =>
  to.add(`ELLIPSE(${stringText(name)},${placement(to, center, normal, x)},${realText(major)},${realText(minor)})`);

/** The line from one point to another. */
export function segment(to: Instances, start: Vec3, end: Vec3, name = ''): Reference {
  const basis = line(to, start, normalize(subtract(end, start)));
  return trimmed(to, basis, start, end, distance(start, end), name);
}

/** The part of a curve from its parameter 0 to another. Ends are given as points too: readers differ in which they take. */
const trimmed = (to: Instances, basis: Reference, start: Vec3, end: Vec3, until: number, name: string): Reference =>
  to.add(
    `TRIMMED_CURVE(${stringText(name)},${basis},(${point(to, start)},PARAMETER_VALUE(0.)),` +
      `(${point(to, end)},PARAMETER_VALUE(${realText(until)})),.T.,.PARAMETER.)`,
  );

/** The turn that ends where it starts, but for rounding. */
const FULL = 2 * Math.PI - 1e-9;

function piece(to: Instances, part: WirePiece, name = ''): Reference {
  if (part.kind === 'line') return segment(to, part.start, part.end, name);
  const { start, end, center, normal, sweep } = part;
  const out = subtract(start, center);
  const x = normalize(addScaled(out, normal, -dot(out, normal)));
  const radius = distance(start, center);
  if (sweep >= FULL) return circle(to, center, normal, x, radius, name);
  return trimmed(to, circle(to, center, normal, x, radius), start, end, sweep, name);
}

/** A chain of lines and arcs as one curve; a single piece as the curve it is. */
export function wire(to: Instances, pieces: readonly WirePiece[], name: string): Reference {
  if (pieces.length === 1) return piece(to, pieces[0]!, name);
  const isClosed = distance(pieces[0]!.start, pieces.at(-1)!.end) < 1e-6;
  const segments = pieces.map((part, i) => {
    const meets = isClosed || i < pieces.length - 1;
    return to.add(`COMPOSITE_CURVE_SEGMENT(.${meets ? 'CONTINUOUS' : 'DISCONTINUOUS'}.,.T.,${piece(to, part)})`);
  });
  return to.add(`COMPOSITE_CURVE(${stringText(name)},${listText(segments)},.F.)`);
}

/** The outline of a slot: counterclockwise about its normal, from the end of the straight side on the right of `direction`. */
export function slotPieces(slot: {
  readonly center: Vec3;
  readonly normal: Vec3;
  readonly direction: Vec3;
  readonly length: number;
  readonly width: number;
}): WirePiece[] {
  const { center, normal, direction: along, length, width } = slot;
  const across = cross(normal, along);
  const half = (length - width) / 2;
  const at = (u: number, v: number): Vec3 => addScaled(addScaled(center, along, u * half), across, (v * width) / 2);
  const end = (u: number): WirePiece => ({
    kind: 'arc',
    start: at(u, -u),
    end: at(u, u),
    center: addScaled(center, along, u * half),
    normal,
    sweep: Math.PI,
  });
  if (half === 0) return [{ ...(end(1) as WirePiece & { kind: 'arc' }), end: at(1, -1), sweep: 2 * Math.PI }];
  return [
    { kind: 'line', start: at(-1, -1), end: at(1, -1) },
    end(1),
    { kind: 'line', start: at(1, 1), end: at(-1, 1) },
    end(-1),
  ];
}

/** A unit vector square to `axis` in the direction of `toward`. */
export const squareTo = (axis: Vec3, toward: Vec3): Vec3 =>
  normalize(addScaled(toward, axis, -dot(toward, axis) / dot(axis, axis)));

/** Turned about a unit axis square to it, radians. */
export const turned = (x: Vec3, axis: Vec3, angle: number): Vec3 =>
  addScaled(scale(x, Math.cos(angle)), cross(axis, x), Math.sin(angle));
