import { FettleError } from '../error.js';
import type { Feature } from '../feature/feature.js';
import { cross, type Vec3 } from '../math/vec3.js';
import { type Choice, emptyRegion } from '../region/empty.js';
import { withArticle } from '../text/in-words.js';

/** A signed distance from a feature, mm, of the point whose x stands at `p` in `xyz`. */
type Off = (xyz: Float64Array, p: number) => number;

function fromPlane([px, py, pz]: Vec3, [nx, ny, nz]: Vec3): Off {
  return (xyz, p) => nx * (xyz[p] - px) + ny * (xyz[p + 1] - py) + nz * (xyz[p + 2] - pz);
}

function fromSphere([cx, cy, cz]: Vec3, radius: number): Off {
  return (xyz, p) => Math.sqrt((xyz[p] - cx) ** 2 + (xyz[p + 1] - cy) ** 2 + (xyz[p + 2] - cz) ** 2) - radius;
}

function fromCylinder([px, py, pz]: Vec3, [dx, dy, dz]: Vec3, radius: number): Off {
  return (xyz, p) => {
    const x = xyz[p] - px;
    const y = xyz[p + 1] - py;
    const z = xyz[p + 2] - pz;
    return Math.sqrt((y * dz - z * dy) ** 2 + (z * dx - x * dz) ** 2 + (x * dy - y * dx) ** 2) - radius;
  };
}

/** Behind the apex the nearest place of a cone is the apex itself. */
function fromCone([px, py, pz]: Vec3, [dx, dy, dz]: Vec3, halfAngle: number): Off {
  const cos = Math.cos(halfAngle);
  const sin = Math.sin(halfAngle);
  return (xyz, p) => {
    const x = xyz[p] - px;
    const y = xyz[p + 1] - py;
    const z = xyz[p + 2] - pz;
    const along = x * dx + y * dy + z * dz;
    const across = Math.sqrt((y * dz - z * dy) ** 2 + (z * dx - x * dz) ** 2 + (x * dy - y * dx) ** 2);
    return along * cos + across * sin < 0 ? Math.hypot(along, across) : across * cos - along * sin;
  };
}

/** From the rim of a circle in space; the sign is that of the way outward. */
function fromCircle([cx, cy, cz]: Vec3, [nx, ny, nz]: Vec3, radius: number): Off {
  return (xyz, p) => {
    const x = xyz[p] - cx;
    const y = xyz[p + 1] - cy;
    const z = xyz[p + 2] - cz;
    const above = x * nx + y * ny + z * nz;
    const out = Math.sqrt((y * nz - z * ny) ** 2 + (z * nx - x * nz) ** 2 + (x * ny - y * nx) ** 2) - radius;
    return Math.sign(out || 1) * Math.hypot(above, out);
  };
}

/** From the outline of a slot in space: two straight sides a width apart, round at their ends. */
function fromSlot(center: Vec3, normal: Vec3, direction: Vec3, length: number, width: number): Off {
  const [cx, cy, cz] = center;
  const [nx, ny, nz] = normal;
  const [ux, uy, uz] = direction;
  const [vx, vy, vz] = cross(normal, direction);
  const straight = Math.max(0, length - width) / 2;
  return (xyz, p) => {
    const x = xyz[p] - cx;
    const y = xyz[p + 1] - cy;
    const z = xyz[p + 2] - cz;
    const along = Math.max(0, Math.abs(x * ux + y * uy + z * uz) - straight);
    const out = Math.hypot(along, x * vx + y * vy + z * vz) - width / 2;
    return Math.sign(out || 1) * Math.hypot(x * nx + y * ny + z * nz, out);
  };
}

function off(feature: Feature): Off {
  switch (feature.kind) {
    case 'plane':
      return fromPlane(feature.point, feature.normal);
    case 'point':
      return fromSphere(feature.position, 0);
    case 'sphere':
      return fromSphere(feature.center, feature.radius);
    case 'line':
      return fromCylinder(feature.point, feature.direction, 0);
    case 'cylinder':
      return fromCylinder(feature.point, feature.direction, feature.radius);
    case 'cone':
      return fromCone(feature.apex, feature.direction, feature.halfAngle);
    case 'circle':
      return fromCircle(feature.center, feature.normal, feature.radius);
    case 'slot':
      return fromSlot(feature.center, feature.normal, feature.direction, feature.length, feature.width);
    default:
      throw new FettleError(
        'wrong-kind',
        `Points are not chosen by their distance off ${withArticle(feature.kind)}. Use its plane, its axis or its center.`,
      );
  }
}

/**
 * The points (of those selected) no less than `min` and no more than `max` off a feature, mm. Off a plane distances are
 * positive on the side its normal points to; off round surfaces, circles and slots outside; off points and lines always.
 *
 * @throws FettleError `wrong-kind` for an ellipse; `region-empty` if there is none, saying how far off the nearest is
 */
export function pointsOff(
  points: Choice,
  feature: Feature,
  { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY }: { min?: number; max?: number },
): Uint32Array {
  const { positions, select } = points;
  const distance = off(feature);
  const count = select ? select.length : positions.length / 3;
  const found = new Uint32Array(count);
  let n = 0;
  let least = Number.POSITIVE_INFINITY;
  let nearest = 0;
  for (let i = 0; i < count; i++) {
    const point = select ? select[i] : i;
    const d = distance(positions, 3 * point);
    const by = d < min ? min - d : d - max;
    if (by <= 0) found[n++] = point;
    else if (by < least) {
      least = by;
      nearest = point;
    }
  }
  if (n === 0) throw emptyRegion(points, `the range of distances off the ${feature.kind}`, nearest, least);
  return found.slice(0, n);
}
