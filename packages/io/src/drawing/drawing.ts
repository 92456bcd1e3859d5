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
  /** Words with a leader line: radii and diameters. */
  readonly labels: readonly { readonly at: Vec2; readonly text: string; readonly prefer?: Vec2 }[];
  readonly balloons: readonly { readonly number: number; readonly at: Vec2 }[];
  readonly datums: readonly DrawnDatum[];
  /** Origin of the datum frame and its axes in the drawing. */
  readonly origin?: { readonly at: Vec2; readonly axes: readonly { readonly name: string; readonly along: Vec2 }[] };
  /** Places in numbers: title row first. */
  readonly table?: readonly (readonly string[])[];
}

/** Least and greatest coordinates of the shapes, mm of the part; undefined for a drawing of nothing. */
export function extentOf({ shapes }: Pick<Drawing, 'shapes'>): { readonly min: Vec2; readonly max: Vec2 } | undefined {
  let [left, low, right, high] = [Infinity, Infinity, -Infinity, -Infinity];
  const take = (x: number, y: number): void => {
    left = Math.min(left, x);
    right = Math.max(right, x);
    low = Math.min(low, y);
    high = Math.max(high, y);
  };
  for (const shape of shapes) {
    if (shape.kind === 'polyline') {
      for (let i = 0; i < shape.flat.length; i += 2) take(shape.flat[i]!, shape.flat[i + 1]!);
    } else if (shape.kind === 'arc') {
      for (const [x, y] of placesOnArc(shape, 48)) take(x, y);
    } else {
      take(shape.center[0] - shape.radius, shape.center[1] - shape.radius);
      take(shape.center[0] + shape.radius, shape.center[1] + shape.radius);
    }
  }
  return left <= right ? { min: [left, low], max: [right, high] } : undefined;
}

/** Places along an arc, both ends among them. */
export function placesOnArc({ center, radius, start, sweep }: Extract<Shape, { kind: 'arc' }>, pieces: number): Vec2[] {
  const from = Math.atan2(start[1] - center[1], start[0] - center[0]);
  return Array.from({ length: pieces + 1 }, (_, i) => {
    const angle = from + (sweep * i) / pieces;
    return [center[0] + radius * Math.cos(angle), center[1] + radius * Math.sin(angle)] as const;
  });
}
