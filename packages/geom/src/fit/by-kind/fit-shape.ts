import { FettleError } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import type { Points } from '../../scan/scan.js';
import { either } from '../../text/in-words.js';
import type { Fit } from '../fit.js';
import { fitEllipse } from '../planar/ellipse.js';
import { fitSlot } from '../planar/slot.js';
import { fitCircle } from '../shapes/circle.js';
import { fitCone } from '../shapes/cone.js';
import { fitCylinder } from '../shapes/cylinder.js';
import { fitLine } from '../shapes/line.js';
import { fitPlane } from '../shapes/plane.js';
import { fitSphere } from '../shapes/sphere.js';

const fits = {
  plane: fitPlane,
  line: fitLine,
  circle: fitCircle,
  sphere: fitSphere,
  cylinder: fitCylinder,
  cone: fitCone,
  slot: fitSlot,
  ellipse: fitEllipse,
} as const;

/** Kinds of feature that can be fitted to points. */
export type ShapeKind = keyof typeof fits;

/** What the fit of a kind takes. */
export type ShapeOptions<K extends ShapeKind> = NonNullable<Parameters<(typeof fits)[K]>[1]>;

/**
 * Fit a shape told by its kind; what `fitPlane` is for `plane`, and so on.
 *
 * @throws FettleError `unknown-shape`, and what the shape's own fit throws
 */
export function fitShape<K extends ShapeKind>(
  kind: K,
  points: Points,
  options?: ShapeOptions<K>,
): Fit<Extract<Feature, { kind: K }>> {
  const fit = Object.hasOwn(fits, kind) ? fits[kind] : undefined;
  if (!fit)
    throw new FettleError('unknown-shape', `There is no shape ${kind} to fit. Use ${either(Object.keys(fits))}.`);
  return (fit as (points: Points, options?: object) => Fit<Feature>)(points, options) as Fit<
    Extract<Feature, { kind: K }>
  >;
}
