import { add, addScaled, cross, dot, normalize, scale, subtract, type Vec3 } from '../math/vec3.js';
import type { Feature } from './feature.js';
import type { Uncertainty } from './uncertainty.js';

/** Where small moves of a feature are counted from: the part of an {@link Uncertainty} that is no number. */
export type Base = Pick<Uncertainty, 'at' | 'axes'>;

/**
 * A feature moved by small parameters, `delta` in the order of the table of {@link Uncertainty}. Exact as a motion, not only
 * to first order: directions stay unit length.
 */
export function moved<F extends Feature>(feature: F, base: Base, delta: ArrayLike<number>): F {
  return move(feature, base, delta) as F;
}

function move(feature: Feature, { at, axes }: Base, d: ArrayLike<number>): Feature {
  const [u, v, w] = axes;
  const along = (a: number, b: number, c: number): Vec3 => addScaled(addScaled(scale(u, a), v, b), w, c);
  switch (feature.kind) {
    case 'plane': {
      const motion = tilting(at, along(0, 0, d[0]), w, along(d[1], d[2], 0));
      return { ...feature, point: motion.place(feature.point), normal: motion.turn(feature.normal) };
    }
    case 'line': {
      const motion = tilting(at, along(d[0], d[1], 0), w, along(d[2], d[3], 0));
      return { ...feature, point: motion.place(feature.point), direction: motion.turn(feature.direction) };
    }
    case 'point':
      return { ...feature, position: add(feature.position, along(d[0], d[1], d[2])) };
    case 'circle': {
      const motion = tilting(at, along(d[0], d[1], d[2]), w, along(d[3], d[4], 0));
      return {
        ...feature,
        center: motion.place(feature.center),
        normal: motion.turn(feature.normal),
        radius: feature.radius + d[5],
      };
    }
    case 'sphere':
      return { ...feature, center: add(feature.center, along(d[0], d[1], d[2])), radius: feature.radius + d[3] };
    case 'cylinder': {
      const motion = tilting(at, along(d[0], d[1], 0), w, along(d[2], d[3], 0));
      return {
        ...feature,
        point: motion.place(feature.point),
        direction: motion.turn(feature.direction),
        radius: feature.radius + d[4],
      };
    }
    case 'cone': {
      const motion = tilting(at, along(d[0], d[1], 0), w, along(d[2], d[3], 0));
      const direction = motion.turn(feature.direction);
      const halfAngle = feature.halfAngle + d[5];
      const height = dot(subtract(at, feature.apex), feature.direction);
      // The apex lies where the radius, told at `at`, comes to nothing.
      const taken = (height * Math.tan(feature.halfAngle) + d[4]) / Math.tan(halfAngle);
      const foot = motion.place(addScaled(feature.apex, feature.direction, height));
      return { ...feature, apex: addScaled(foot, direction, -taken), direction, halfAngle };
    }
    case 'slot': {
      const motion = turning(at, along(d[0], d[1], 0), scale(w, d[2]));
      return {
        ...feature,
        center: motion.place(feature.center),
        direction: motion.turn(feature.direction),
        length: feature.length + d[3],
        width: feature.width + d[4],
      };
    }
    case 'ellipse': {
      const motion = turning(at, along(d[0], d[1], 0), scale(w, d[2]));
      return {
        ...feature,
        center: motion.place(feature.center),
        direction: motion.turn(feature.direction),
        major: feature.major + d[3],
        minor: feature.minor + d[4],
      };
    }
  }
}

interface Motion {
  place(p: Vec3): Vec3;
  turn(direction: Vec3): Vec3;
}

/** Turn about `at` so that `w` points along w + tilt, then shift. */
function tilting(at: Vec3, shift: Vec3, w: Vec3, tilt: Vec3): Motion {
  const axis = cross(w, tilt);
  const sine = Math.hypot(...axis);
  return turning(at, shift, sine > 0 ? scale(axis, Math.atan(sine) / sine) : [0, 0, 0]);
}

/** Turn about `at` by the vector `rotation`, radians (Rodrigues' formula), then shift. */
export function turning(at: Vec3, shift: Vec3, rotation: Vec3): Motion {
  const angle = Math.hypot(...rotation);
  const turn = (x: Vec3): Vec3 => {
    if (angle === 0) return x;
    const k = scale(rotation, 1 / angle);
    const c = Math.cos(angle);
    return addScaled(addScaled(scale(x, c), cross(k, x), Math.sin(angle)), k, dot(k, x) * (1 - c));
  };
  return {
    place: (p) => (angle === 0 ? add(p, shift) : add(add(at, turn(subtract(p, at))), shift)),
    turn: (direction) => (angle === 0 ? direction : normalize(turn(direction))),
  };
}

/** The inverse of {@link moved}: by which parameters, to first order, `feature` differs from the one at the base. */
export function moveOf(feature: Feature, { at, axes }: Base, from: Feature): number[] {
  const [u, v, w] = axes;
  const components = (x: Vec3): Vec3 => [dot(x, u), dot(x, v), dot(x, w)];
  /** Where a line crosses the plane through `at` square to w, and how it leans. */
  const axis = (point: Vec3, direction: Vec3): readonly [number, number, number, number] => {
    const [a, b, c] = components(direction);
    const [p, q, r] = components(subtract(point, at));
    return [p - (a / c) * r, q - (b / c) * r, a / c, b / c];
  };
  switch (feature.kind) {
    case 'plane': {
      const [a, b, c] = components(feature.normal);
      return [dot(subtract(feature.point, at), feature.normal) / c, a / c, b / c];
    }
    case 'line':
      return [...axis(feature.point, feature.direction)];
    case 'point':
      return [...components(subtract(feature.position, at))];
    case 'circle': {
      const [a, b, c] = components(feature.normal);
      const size = feature.radius - (from as typeof feature).radius;
      return [...components(subtract(feature.center, at)), a / c, b / c, size];
    }
    case 'sphere':
      return [...components(subtract(feature.center, at)), feature.radius - (from as typeof feature).radius];
    case 'cylinder':
      return [...axis(feature.point, feature.direction), feature.radius - (from as typeof feature).radius];
    case 'cone': {
      const own = from as typeof feature;
      const radiusAtBase = ({ apex, direction, halfAngle }: typeof feature): number =>
        dot(subtract(at, apex), direction) * Math.tan(halfAngle);
      const size = radiusAtBase(feature) - radiusAtBase(own);
      return [...axis(feature.apex, feature.direction), size, feature.halfAngle - own.halfAngle];
    }
    case 'slot': {
      const own = from as typeof feature;
      const [p, q] = components(subtract(feature.center, at));
      return [
        p,
        q,
        turnAbout(w, own.direction, feature.direction),
        feature.length - own.length,
        feature.width - own.width,
      ];
    }
    case 'ellipse': {
      const own = from as typeof feature;
      const [p, q] = components(subtract(feature.center, at));
      return [
        p,
        q,
        turnAbout(w, own.direction, feature.direction),
        feature.major - own.major,
        feature.minor - own.minor,
      ];
    }
  }
}

const turnAbout = (w: Vec3, from: Vec3, to: Vec3): number => Math.atan2(dot(cross(from, to), w), dot(from, to));
