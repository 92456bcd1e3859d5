import { FettleError } from '../error.js';
import type { Plane } from '../feature/feature.js';
import { addScaled, cross, dot, length, normalize, perpendiculars, scale, subtract, type Vec3 } from '../math/vec3.js';

export interface AxesOptions {
  /** The flat coordinates count from the foot of this point on the plane. Default: the plane's own point. */
  readonly origin?: Vec3;
  /** The flat x axis follows this direction as nearly as it can. Default: chosen from the normal alone. */
  readonly x?: Vec3;
}

/** A plane with axes of its own: x × y is its normal. */
export interface SectionAxes {
  readonly plane: Plane;
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
}

/**
 * @throws FettleError `section-plane` for a plane whose numbers are not finite or whose normal has no length,
 * `section-axis` for an x direction along the normal.
 */
export function sectionAxes(plane: Pick<Plane, 'point' | 'normal'>, options: AxesOptions = {}): SectionAxes {
  const size = length(plane.normal);
  if (!(size > 0 && size < Infinity && plane.point.every(Number.isFinite)))
    throw new FettleError(
      'section-plane',
      `A plane through (${plane.point.join(', ')}) with the normal (${plane.normal.join(', ')}) cannot be cut along. ` +
        'Give finite numbers and a normal longer than 0.',
    );
  const normal = scale(plane.normal, 1 / size);
  const origin = options.origin
    ? addScaled(options.origin, normal, -dot(subtract(options.origin, plane.point), normal))
    : plane.point;
  const axes = { plane: { kind: 'plane', point: plane.point, normal } as const, origin };
  if (!options.x) {
    const [x, y] = perpendiculars(normal);
    return { ...axes, x, y };
  }
  const along = addScaled(options.x, normal, -dot(options.x, normal));
  if (!(length(along) > 1e-9 * length(options.x)))
    throw new FettleError(
      'section-axis',
      `The flat x axis cannot follow (${options.x.join(', ')}): that runs along the plane's normal. ` +
        'Give a direction in the plane.',
    );
  const x = normalize(along);
  return { ...axes, x, y: cross(normal, x) };
}

/** xyz xyz … on the plane, as xy xy … in its axes. */
export function flatten({ origin, x, y }: SectionAxes, points: Float64Array): Float64Array {
  const flat = new Float64Array((2 * points.length) / 3);
  for (let i = 0, j = 0; i < points.length; i += 3, j += 2) {
    const dx = points[i] - origin[0];
    const dy = points[i + 1] - origin[1];
    const dz = points[i + 2] - origin[2];
    flat[j] = dx * x[0] + dy * x[1] + dz * x[2];
    flat[j + 1] = dx * y[0] + dy * y[1] + dz * y[2];
  }
  return flat;
}
