import { counted } from '../text/number-text.js';

/** Twelve numbers of the standard's 4 × 3 matrix, row by row: a point is a row vector before it. */
export type Transform = readonly number[];

/** An object placed by another one or by the build: in the model part `path`, or the one that speaks. */
export interface Placed {
  readonly id: string;
  readonly path?: string;
  readonly transform?: Transform;
}

export interface ModelObject {
  readonly id: string;
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly components: readonly Placed[];
}

/** One model part: its unit, its objects, and what of them the build places. */
export interface Model {
  readonly unit: string;
  readonly objects: ReadonlyMap<string, ModelObject>;
  readonly build: readonly Placed[];
}

/** Points and triangles of a thing in words, for messages. */
export const contentsText = (points: number, triangles: number): string =>
  `${counted(points, 'point')} and ${counted(triangles, 'triangle')}`;
