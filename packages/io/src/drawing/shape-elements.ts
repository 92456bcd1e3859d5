import type { Vec2 } from '@fettle/geom';
import type { Segment } from '../labels/box.js';
import { placesOnArc, type Shape } from './drawing.js';
import { strokeAttributes } from './line-type.js';
import { num } from './svg-text.js';

/** How far center lines reach beyond a circle, and the arms of a point's cross, mm on paper. */
const OVERSHOOT = 3;

/** A line of a drawing as an SVG element. */
export function shapeElement(shape: Shape, toPaper: (p: Vec2) => Vec2, scale: number): string {
  const look = strokeAttributes(shape.line);
  if (shape.kind === 'polyline') return `<path ${look} d="${polylinePath(shape, toPaper)}"/>`;
  const [cx, cy] = toPaper(shape.center);
  if (shape.kind === 'center-mark') {
    const arm = shape.radius * scale + OVERSHOOT;
    // From the middle outward, so that long dashes cross there.
    const middle = `M${num(cx)} ${num(cy)}`;
    return `<path ${look} d="${['h', 'v'].flatMap((way) => [arm, -arm].map((by) => `${middle}${way}${num(by)}`)).join('')}"/>`;
  }
  const radius = shape.radius * scale;
  if (Math.abs(shape.sweep) >= 2 * Math.PI - 1e-9)
    return `<circle ${look} cx="${num(cx)}" cy="${num(cy)}" r="${num(radius)}"/>`;
  const [from, to] = placesOnArc(shape, 1).map(toPaper) as [Vec2, Vec2];
  const large = Math.abs(shape.sweep) > Math.PI ? 1 : 0;
  // Down is positive on paper: counterclockwise is a negative turn there.
  return `<path ${look} d="M${num(from[0])} ${num(from[1])}A${num(radius)} ${num(radius)} 0 ${large} ${shape.sweep > 0 ? 0 : 1} ${num(to[0])} ${num(to[1])}"/>`;
}

/** Points nearer than this to the last one drawn are left out, mm on paper: a fifth of the narrowest line. */
const FINEST = 0.05;

function polylinePath({ flat, closed }: Extract<Shape, { kind: 'polyline' }>, toPaper: (p: Vec2) => Vec2): string {
  let d = '';
  let [lastX, lastY] = [Infinity, Infinity];
  for (let i = 0; i < flat.length; i += 2) {
    const [x, y] = toPaper([flat[i]!, flat[i + 1]!]);
    const isEnd = i === 0 || i === flat.length - 2;
    if (!isEnd && Math.hypot(x - lastX, y - lastY) < FINEST) continue;
    d += `${i === 0 ? 'M' : 'L'}${x.toFixed(3)} ${y.toFixed(3)}`;
    [lastX, lastY] = [x, y];
  }
  return closed ? `${d}Z` : d;
}

/** Length of the pieces lines are looked at in when labels are placed, mm on paper. */
const COARSE = 2;

/** A line of a drawing in straight pieces on paper, for labels to keep off. */
export function segmentsOf(shape: Shape, toPaper: (p: Vec2) => Vec2, scale: number): Segment[] {
  if (shape.kind === 'center-mark') {
    const [x, y] = toPaper(shape.center);
    const arm = shape.radius * scale + OVERSHOOT;
    return [
      [x - arm, y, x + arm, y],
      [x, y - arm, x, y + arm],
    ];
  }
  const places: Vec2[] = [];
  if (shape.kind === 'arc') {
    const pieces = Math.max(2, Math.ceil((Math.abs(shape.sweep) * shape.radius * scale) / COARSE));
    places.push(...placesOnArc(shape, Math.min(200, pieces)).map(toPaper));
  } else {
    const { flat, closed } = shape;
    for (let i = 0; i < flat.length; i += 2) {
      const p = toPaper([flat[i]!, flat[i + 1]!]);
      const last = places.at(-1);
      if (!last || i === flat.length - 2 || Math.hypot(p[0] - last[0], p[1] - last[1]) >= COARSE) places.push(p);
    }
    if (closed && places.length > 1) places.push(places[0]!);
  }
  return places.slice(1).map((p, i): Segment => [places[i]![0], places[i]![1], p[0], p[1]]);
}
