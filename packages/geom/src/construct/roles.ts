import { FettleError } from '../error.js';
import type { Feature, FeatureKind, Line, Plane, Point } from '../feature/feature.js';
import type { Vec3 } from '../math/vec3.js';

/**
 * What a feature can stand for in a construction: a hole's circle has a plane, an axis and a center; a cylinder has an
 * axis. Constructions ask for the role and take every feature that can play it.
 */

/** Kinds that have a plane: a plane, and a circle by the plane it lies in. */
export const havePlane = ['plane', 'circle'] as const satisfies readonly FeatureKind[];
/** Kinds that have an axis: a line is its own; a circle's runs through its center along its normal. */
export const haveAxis = ['line', 'circle', 'cylinder', 'cone'] as const satisfies readonly FeatureKind[];
/** Kinds that have a center: a point is its own; a cone's is its apex. */
export const haveCenter = ['point', 'circle', 'sphere', 'cone'] as const satisfies readonly FeatureKind[];
/** Kinds that have a direction: of the normal, else of the axis. */
export const haveDirection = ['plane', 'line', 'circle', 'cylinder', 'cone'] as const satisfies readonly FeatureKind[];

export type WithPlane = Extract<Feature, { kind: (typeof havePlane)[number] }>;
export type WithAxis = Extract<Feature, { kind: (typeof haveAxis)[number] }>;
export type WithCenter = Extract<Feature, { kind: (typeof haveCenter)[number] }>;
export type WithDirection = Extract<Feature, { kind: (typeof haveDirection)[number] }>;

const lacks = (feature: Feature, role: string, kinds: readonly string[]): FettleError =>
  new FettleError('wrong-kind', `A ${feature.kind} has no ${role}. Use a ${kinds.join(', a ')}.`);

/** Narrow a feature to those that have a plane. @throws FettleError `wrong-kind` */
export function planeOf(feature: Feature): Plane {
  switch (feature.kind) {
    case 'plane':
      return feature;
    case 'circle':
      return { kind: 'plane', point: feature.center, normal: feature.normal };
    default:
      throw lacks(feature, 'plane', havePlane);
  }
}

/** The axis of a feature as a line. @throws FettleError `wrong-kind` */
export function axisOf(feature: Feature): Line {
  switch (feature.kind) {
    case 'line':
      return feature;
    case 'circle':
      return { kind: 'line', point: feature.center, direction: feature.normal };
    case 'cylinder':
      return { kind: 'line', point: feature.point, direction: feature.direction };
    case 'cone':
      return { kind: 'line', point: feature.apex, direction: feature.direction };
    default:
      throw lacks(feature, 'axis', haveAxis);
  }
}

/** The center of a feature as a point. @throws FettleError `wrong-kind` */
export function centerOf(feature: Feature): Point {
  switch (feature.kind) {
    case 'point':
      return feature;
    case 'circle':
    case 'sphere':
      return { kind: 'point', position: feature.center };
    case 'cone':
      return { kind: 'point', position: feature.apex };
    default:
      throw lacks(feature, 'center', haveCenter);
  }
}

/** The direction of a feature: its normal or its axis, unit length. @throws FettleError `wrong-kind` */
export function directionOf(feature: Feature): Vec3 {
  switch (feature.kind) {
    case 'plane':
    case 'circle':
      return feature.normal;
    case 'line':
    case 'cylinder':
    case 'cone':
      return feature.direction;
    default:
      throw lacks(feature, 'direction', haveDirection);
  }
}
