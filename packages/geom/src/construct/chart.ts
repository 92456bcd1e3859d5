import { FettleError } from '../error.js';
import type { Feature } from '../feature/feature.js';
import { type Base, moveOf } from '../feature/small-moves.js';
import type { Uncertainty } from '../feature/uncertainty.js';
import type { Frame } from '../math/frame.js';
import { cross, dot, perpendiculars, subtract, type Vec3 } from '../math/vec3.js';

/** Coordinates of values near a given one. */
export interface Chart {
  readonly size: number;
  /** What the scale of a scan is counted from. */
  readonly center: Vec3;
  coordinates(value: number | Feature | Frame): ArrayLike<number>;
}

export interface FeatureChart extends Chart {
  readonly kind: Uncertainty['kind'];
  readonly base: Base;
}

/** @throws FettleError `propagate-value` for a value that is none of these */
export function chartOf(value: number | Feature | Frame): Chart | FeatureChart {
  if (typeof value === 'number') return { size: 1, center: [0, 0, 0], coordinates: (x) => [x as number] };
  const chart = (at: Vec3, axes: Uncertainty['axes']): FeatureChart => {
    const base = { at, axes };
    const coordinates = (x: number | Feature | Frame): number[] =>
      value.kind === 'frame' ? moveOfFrame(x as Frame, value) : moveOf(x as Feature, base, value);
    return { kind: value.kind, base, center: at, size: coordinates(value).length, coordinates };
  };
  const about = (at: Vec3, w: Vec3): FeatureChart => chart(at, [...perpendiculars(w), w]);
  const within = (at: Vec3, u: Vec3, w: Vec3): FeatureChart => chart(at, [u, cross(w, u), w]);
  switch (value.kind) {
    case 'plane':
      return about(value.point, value.normal);
    case 'line':
    case 'cylinder':
      return about(value.point, value.direction);
    case 'point':
      return about(value.position, [0, 0, 1]);
    case 'circle':
      return about(value.center, value.normal);
    case 'sphere':
      return about(value.center, [0, 0, 1]);
    case 'cone':
      return about(value.apex, value.direction);
    case 'slot':
    case 'ellipse':
      return within(value.center, value.direction, value.normal);
    case 'frame':
      return chart(value.origin, [value.x, value.y, value.z]);
    default:
      throw new FettleError(
        'propagate-value',
        `An uncertainty can be told of a number, a feature or a frame, not of ${JSON.stringify(value)}.`,
      );
  }
}

/** Shift of the origin along the frame's own axes, and the small turn about them. */
function moveOfFrame(frame: Frame, from: Frame): number[] {
  const d = subtract(frame.origin, from.origin);
  return [
    dot(d, from.x),
    dot(d, from.y),
    dot(d, from.z),
    (dot(frame.y, from.z) - dot(frame.z, from.y)) / 2,
    (dot(frame.z, from.x) - dot(frame.x, from.z)) / 2,
    (dot(frame.x, from.y) - dot(frame.y, from.x)) / 2,
  ];
}
