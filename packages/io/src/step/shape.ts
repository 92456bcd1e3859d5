import { vec3 } from '@fettle/geom';
import { circle, ellipse, segment, slotPieces, wire } from './curve.js';
import { listText, stringText } from './exchange-text.js';
import { surfaceModel } from './face.js';
import type { Instances, Reference } from './instances.js';
import type { FramePlacement, StepItem, Wire } from './item.js';
import { placement, point } from './placement.js';

const { addScaled, cross, perpendiculars } = vec3;

/** What an item puts into the representations of a product. */
export interface Shape {
  readonly placements: readonly Reference[];
  readonly surfaces: readonly Reference[];
  /** Sets of curves and points. */
  readonly curves: readonly Reference[];
}

/**
 * An item as geometry: a face with its axis or center to snap to, a curve with its center, a point, or a placement with its origin and
 * axes. What comes with an item has its name and a word more: `bore axis`, `knob center`, `datum x`.
 */
export function shapeOf(to: Instances, item: StepItem): Shape {
  if (item.kind === 'frame') return frameShape(to, item);
  const isFace = item.kind === 'sphere' || item.kind === 'plane' || item.kind === 'cylinder' || item.kind === 'cone';
  return {
    placements: [],
    surfaces: isFace ? [surfaceModel(to, item)] : [],
    curves:
      item.kind === 'wire' ? [wires(to, item)] : curvesOf(to, item).map(([curve, name]) => curveSet(to, name, [curve])),
  };
}

type NamedCurve = readonly [curve: Reference, name: string];

function curvesOf(to: Instances, item: Exclude<StepItem, FramePlacement | Wire>): readonly NamedCurve[] {
  const { name } = item;
  const center = (at: readonly [number, number, number]): NamedCurve => [
    point(to, at, `${name} center`),
    `${name} center`,
  ];
  switch (item.kind) {
    case 'plane':
      return [];
    case 'sphere':
      return [center(item.center)];
    case 'cylinder':
    case 'cone': {
      const on = item.kind === 'cone' ? item.apex : item.point;
      const [from, until] = item.span.map((s) => addScaled(on, item.direction, s));
      return [[segment(to, from!, until!, `${name} axis`), `${name} axis`]];
    }
    case 'line': {
      const [from, until] = item.span.map((s) => addScaled(item.point, item.direction, s));
      return [[segment(to, from!, until!, name), name]];
    }
    case 'circle': {
      const x = perpendiculars(item.normal)[0];
      return [[circle(to, item.center, item.normal, x, item.radius, name), name], center(item.center)];
    }
    case 'ellipse':
      return [[ellipse(to, item), name], center(item.center)];
    case 'slot':
      return [[wire(to, slotPieces(item), name), name], center(item.center)];
    case 'point':
      return [[point(to, item.position, name), name]];
  }
}

function frameShape(to: Instances, { name, origin, x, y, size = 10 }: FramePlacement): Shape {
  const z = cross(x, y);
  const axes = Object.entries({ x, y, z }).map(([axis, way]) => {
    const own = `${name} ${axis}`;
    return curveSet(to, own, [segment(to, origin, addScaled(origin, way, size), own)]);
  });
  const start = `${name} origin`;
  return {
    placements: [placement(to, origin, z, x, name)],
    surfaces: [],
    curves: [curveSet(to, start, [point(to, origin, start)]), ...axes],
  };
}

const wires = (to: Instances, { name, chains }: Wire): Reference =>
  curveSet(
    to,
    name,
    chains.map((pieces, i) => wire(to, pieces, chains.length === 1 ? name : `${name} ${i + 1}`)),
  );

const curveSet = (to: Instances, name: string, elements: readonly Reference[]): Reference =>
  to.add(`GEOMETRIC_CURVE_SET(${stringText(name)},${listText(elements)})`);
