import { FettleError } from '../error.js';
import { length, scale, type Vec3 } from '../math/vec3.js';
import { either, withArticle } from '../text/in-words.js';
import type { Feature, FeatureKind, Line, Plane, Point } from './feature.js';

/**
 * What a feature can stand for in a construction: a hole's circle has a plane, an axis and a center; a cylinder has an
 * axis. Constructions ask for the role and take every feature that can play it.
 */

/** Kinds that have a plane: a plane, and flat outlines by the plane they lie in. */
export const havePlane = ['plane', 'circle', 'slot', 'ellipse'] as const satisfies readonly FeatureKind[];
/** Kinds that have an axis: a line is its own; a flat outline's runs through its center along its normal. */
export const haveAxis = [
  'line',
  'circle',
  'cylinder',
  'cone',
  'slot',
  'ellipse',
] as const satisfies readonly FeatureKind[];
/** Kinds that have a center: a point is its own; a cone's is its apex. */
export const haveCenter = [
  'point',
  'circle',
  'sphere',
  'cone',
  'slot',
  'ellipse',
] as const satisfies readonly FeatureKind[];
/** Kinds that are longer one way than the other: that way is their centerline's. */
export const haveCenterline = ['slot', 'ellipse'] as const satisfies readonly FeatureKind[];
/** Kinds that have a direction: of the normal, else of the axis. */
export const haveDirection = [
  'plane',
  'line',
  'circle',
  'cylinder',
  'cone',
  'slot',
  'ellipse',
] as const satisfies readonly FeatureKind[];

export type WithPlane = Extract<Feature, { kind: (typeof havePlane)[number] }>;
export type WithAxis = Extract<Feature, { kind: (typeof haveAxis)[number] }>;
export type WithCenter = Extract<Feature, { kind: (typeof haveCenter)[number] }>;
export type WithCenterline = Extract<Feature, { kind: (typeof haveCenterline)[number] }>;
export type WithDirection = Extract<Feature, { kind: (typeof haveDirection)[number] }>;

const lacks = (feature: Feature, role: string, kinds: readonly string[]): FettleError =>
  new FettleError(
    'wrong-kind',
    `There is no ${role} in ${withArticle(feature.kind)}. Use ${either(kinds.map(withArticle))}.`,
  );

/** Directions this near unit length are taken as they are. */
const UNIT = 1e-12;

/** A direction made unit length. @throws FettleError `no-direction` for one of no length or not finite */
function unit(feature: Feature, name: 'normal' | 'direction', d: Vec3): Vec3 {
  const long = length(d);
  if (Math.abs(long - 1) <= UNIT) return d;
  if (long > 0 && Number.isFinite(long)) return scale(d, 1 / long);
  throw new FettleError(
    'no-direction',
    `The ${name} of ${withArticle(feature.kind)} is (${d.join(', ')}): it points nowhere. Give three finite numbers, not all zero.`,
  );
}

/** The plane a feature lies in. @throws FettleError `wrong-kind`, `no-direction` */
export function planeOf(feature: Feature): Plane {
  if (!('normal' in feature)) throw lacks(feature, 'plane', havePlane);
  const normal = unit(feature, 'normal', feature.normal);
  if (feature.kind === 'plane') return normal === feature.normal ? feature : { ...feature, normal };
  return { kind: 'plane', point: feature.center, normal };
}

/** The axis of a feature as a line. @throws FettleError `wrong-kind`, `no-direction` */
export function axisOf(feature: Feature): Line {
  switch (feature.kind) {
    case 'line':
    case 'cylinder':
    case 'cone': {
      const direction = unit(feature, 'direction', feature.direction);
      if (feature.kind === 'line' && direction === feature.direction) return feature;
      return { kind: 'line', point: feature.kind === 'cone' ? feature.apex : feature.point, direction };
    }
    case 'circle':
    case 'slot':
    case 'ellipse':
      return { kind: 'line', point: feature.center, direction: unit(feature, 'normal', feature.normal) };
    default:
      throw lacks(feature, 'axis', haveAxis);
  }
}

/** The center of a feature as a point. @throws FettleError `wrong-kind` */
export function centerOf(feature: Feature): Point {
  if (feature.kind === 'point') return feature;
  if ('center' in feature) return { kind: 'point', position: feature.center };
  if (feature.kind === 'cone') return { kind: 'point', position: feature.apex };
  throw lacks(feature, 'center', haveCenter);
}

/** The direction of a feature: its normal or its axis, unit length. @throws FettleError `wrong-kind` */
export function directionOf(feature: Feature): Vec3 {
  if ('normal' in feature) return feature.normal;
  if ('direction' in feature) return feature.direction;
  throw lacks(feature, 'direction', haveDirection);
}

/** The line through the center of a slot or an ellipse along its longer way. @throws FettleError `wrong-kind` */
export function centerlineOf(feature: Feature): Line {
  switch (feature.kind) {
    case 'slot':
    case 'ellipse':
      return { kind: 'line', point: feature.center, direction: feature.direction };
    default:
      throw lacks(feature, 'centerline', haveCenterline);
  }
}
