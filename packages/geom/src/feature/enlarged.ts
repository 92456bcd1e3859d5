import { addScaled, subtract, type Vec3 } from '../math/vec3.js';
import type { Feature } from './feature.js';

/** A feature with all its lengths, and its distance from `center`, `factor` times what they are. Directions and angles stay. */
export function enlarged<F extends Feature>(feature: F, center: Vec3, factor: number): F {
  return enlarge(feature, center, factor) as F;
}

function enlarge(feature: Feature, center: Vec3, factor: number): Feature {
  const place = (p: Vec3): Vec3 => addScaled(center, subtract(p, center), factor);
  switch (feature.kind) {
    case 'plane':
    case 'line':
      return { ...feature, point: place(feature.point) };
    case 'point':
      return { ...feature, position: place(feature.position) };
    case 'circle':
    case 'sphere':
      return { ...feature, center: place(feature.center), radius: factor * feature.radius };
    case 'cylinder':
      return { ...feature, point: place(feature.point), radius: factor * feature.radius };
    case 'cone':
      return { ...feature, apex: place(feature.apex) };
    case 'slot':
      return {
        ...feature,
        center: place(feature.center),
        length: factor * feature.length,
        width: factor * feature.width,
      };
    case 'ellipse':
      return {
        ...feature,
        center: place(feature.center),
        major: factor * feature.major,
        minor: factor * feature.minor,
      };
  }
}
