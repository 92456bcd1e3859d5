import { footOnPlane } from '../../../construct/project.js';
import { derive, type Uncertain } from '../../../construct/propagate.js';
import type { Feature, Plane } from '../../../feature/feature.js';
import { directionOf, planeOf } from '../../../feature/roles.js';
import { addScaled, dot, negate, normalize, subtract, type Vec3 } from '../../../math/vec3.js';
import type { Context } from '../../step/context.js';
import type { FitStep } from './schema.js';

/**
 * A fit that was made in an earlier plane, or along an earlier direction or one given in a frame, follows that when it moves: so
 * that what is made of both does not count it twice.
 */
export function tied(step: FitStep, fit: Uncertain<Feature>, context: Context): Uncertain<Feature> {
  const plane = step.plane === undefined ? context.section(step.to)?.plane : context.feature(step.plane);
  const laid = plane === undefined ? fit : derive([fit, plane], (f, p) => laidInto(f, planeOf(p)));
  const direction = step.known?.direction;
  if (direction === undefined) return laid;
  if (typeof direction === 'string')
    return derive([laid, context.feature(direction)], (f, other) => turnedAlong(f, directionOf(other)));
  return derive([laid, context.frame(step.in)], (f, frame) =>
    turnedAlong(f, normalize(subtract(frame.toScan(direction), frame.origin))),
  );
}

/** A flat outline or a line in a plane. */
function laidInto(feature: Feature, plane: Plane): Feature {
  const into = (d: Vec3): Vec3 => normalize(addScaled(d, plane.normal, -dot(d, plane.normal)));
  switch (feature.kind) {
    case 'circle':
      return { ...feature, center: footOnPlane(feature.center, plane), normal: agreeing(plane.normal, feature.normal) };
    case 'slot':
    case 'ellipse':
      return {
        ...feature,
        center: footOnPlane(feature.center, plane),
        normal: agreeing(plane.normal, feature.normal),
        direction: into(feature.direction),
      };
    case 'line':
      return { ...feature, point: footOnPlane(feature.point, plane), direction: into(feature.direction) };
    default:
      return feature;
  }
}

function turnedAlong(feature: Feature, direction: Vec3): Feature {
  if (feature.kind === 'plane' || feature.kind === 'circle')
    return { ...feature, normal: agreeing(direction, feature.normal) };
  if (feature.kind === 'line' || feature.kind === 'cylinder')
    return { ...feature, direction: agreeing(direction, feature.direction) };
  return feature;
}

const agreeing = (direction: Vec3, own: Vec3): Vec3 => (dot(direction, own) < 0 ? negate(direction) : direction);
