import type { Vec2 } from '@fettle/geom';
import type { LineType } from './line-type.js';

/** A line of a drawing, in mm of the part; x to the right, y up. */
export type Shape = { readonly line: LineType } & (
  | { readonly kind: 'polyline'; readonly flat: Float64Array; readonly closed: boolean }
  | {
      readonly kind: 'arc';
      readonly center: Vec2;
      readonly radius: number;
      readonly start: Vec2;
      /** Counterclockwise positive, radians; a full turn is a circle. */
      readonly sweep: number;
    }
  /** Center lines: a cross reaching a little beyond a circle. */
  | { readonly kind: 'center-mark'; readonly center: Vec2; readonly radius: number }
);

/** A distance between two places, drawn outside the part where it runs level or upright. */
export interface DrawnDimension {
  readonly from: Vec2;
  readonly to: Vec2;
  readonly text: string;
  /** Of the row of the job sheet it comes from. */
  readonly balloon?: number;
  /** What it belongs to, outside which it is drawn; default the whole drawing. */
  readonly around?: Extent;
  /** Only the part of the way that runs so. Default: the way itself. */
  readonly along?: 'x' | 'y';
}

/** A datum letter in a box (ISO 5459). */
export interface DrawnDatum {
  readonly letter: string;
  readonly at: Vec2;
  /** Out of the material, where the surface is seen edge on: the triangle stands on it. Absent: seen face on, a dot. */
  readonly outward?: Vec2;
}

/** What is on a sheet, before it is laid out on paper. mm of the part, x to the right, y up. */
export interface Drawing {
  readonly shapes: readonly Shape[];
  readonly dimensions: readonly DrawnDimension[];
  /** Words with a leader line: radii and diameters, whose leader ends in an arrow on the line it is about. */
  readonly labels: readonly {
    readonly at: Vec2;
    readonly text: string;
    readonly prefer?: Vec2;
    readonly arrow?: boolean;
  }[];
  readonly balloons: readonly { readonly number: number; readonly at: Vec2 }[];
  readonly datums: readonly DrawnDatum[];
  /** Origin of the datum frame and its axes in the drawing. */
  readonly origin?: { readonly at: Vec2; readonly axes: readonly { readonly name: string; readonly along: Vec2 }[] };
  /** Places in numbers: title row first. */
  readonly table?: readonly (readonly string[])[];
  /** What has to be known to read it: stands below the scale bar. */
  readonly notes?: readonly string[];
}

/** Least and greatest coordinates, mm of the part. */
export interface Extent {
  readonly min: Vec2;
  readonly max: Vec2;
}

/** The places of a drawing that lie farthest out on each side. */
export interface Farthest {
  readonly left: Vec2;
  readonly right: Vec2;
  readonly low: Vec2;
  readonly high: Vec2;
}

/** The places of shapes farthest out; undefined for a drawing of nothing. */
export function farthestOf(shapes: readonly Shape[]): Farthest | undefined {
  let found: Farthest | undefined;
  const take = (x: number, y: number): void => {
    const place: Vec2 = [x, y];
    found ??= { left: place, right: place, low: place, high: place };
    if (x < found.left[0]) found = { ...found, left: place };
    if (x > found.right[0]) found = { ...found, right: place };
    if (y < found.low[1]) found = { ...found, low: place };
    if (y > found.high[1]) found = { ...found, high: place };
  };
  for (const shape of shapes) {
    if (shape.kind === 'polyline') {
      for (let i = 0; i < shape.flat.length; i += 2) take(shape.flat[i]!, shape.flat[i + 1]!);
    } else if (shape.kind === 'arc') {
      for (const [x, y] of outermostOnArc(shape)) take(x, y);
    } else {
      const { center, radius } = shape;
      for (const way of [-1, 1]) {
        take(center[0] + way * radius, center[1]);
        take(center[0], center[1] + way * radius);
      }
    }
  }
  return found;
}

/** Least and greatest coordinates of the shapes; undefined for a drawing of nothing. */
export function extentOf({ shapes }: Pick<Drawing, 'shapes'>): Extent | undefined {
  const found = farthestOf(shapes);
  return found && { min: [found.left[0], found.low[1]], max: [found.right[0], found.high[1]] };
}

/** The ends of an arc and where it runs level or upright. */
function outermostOnArc(arc: Extract<Shape, { kind: 'arc' }>): Vec2[] {
  const { center, radius, start, sweep } = arc;
  const from = Math.atan2(start[1] - center[1], start[0] - center[0]);
  const [low, high] = sweep < 0 ? [from + sweep, from] : [from, from + sweep];
  const places = placesOnArc(arc, 1);
  for (let q = Math.ceil(low / (Math.PI / 2)); q * (Math.PI / 2) <= high; q++) {
    const angle = q * (Math.PI / 2);
    places.push([center[0] + radius * Math.cos(angle), center[1] + radius * Math.sin(angle)]);
  }
  return places;
}

/** Places along an arc, both ends among them. */
export function placesOnArc({ center, radius, start, sweep }: Extract<Shape, { kind: 'arc' }>, pieces: number): Vec2[] {
  const from = Math.atan2(start[1] - center[1], start[0] - center[0]);
  return Array.from({ length: pieces + 1 }, (_, i) => {
    const angle = from + (sweep * i) / pieces;
    return [center[0] + radius * Math.cos(angle), center[1] + radius * Math.sin(angle)] as const;
  });
}
