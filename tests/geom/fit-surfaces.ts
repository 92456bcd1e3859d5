/** Noisy points on surfaces, in positions a test can read: about the z axis, moved by (100, −40, 8). */
import type { Random, Vec3 } from '@fettle/geom';

export const MOVE = [100, -40, 8] as const;
const DEGREE = Math.PI / 180;

const add = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];

/** xyz xyz … of `count` points made one by one, moved. */
export function pointsOf(count: number, make: (i: number) => Vec3): Float64Array {
  const positions = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) positions.set(add(make(i), MOVE), 3 * i);
  return positions;
}

/** Radius about z, over an arc in degrees from x on, of a length about z = 0. */
export function aroundZ(random: Random, radius: number, arc: number, length: number, noise: number) {
  return (): Vec3 => {
    const turn = arc * DEGREE * random.next();
    const r = radius + noise * random.normal();
    return [r * Math.cos(turn), r * Math.sin(turn), length * (random.next() - 0.5)];
  };
}

/** A rectangle in z = 0 about the origin. */
export function onFloor(random: Random, length: number, width: number, noise: number) {
  return (): Vec3 => [length * (random.next() - 0.5), width * (random.next() - 0.5), noise * random.normal()];
}

/** A cap about +z of a sphere about the origin, of so many degrees from edge to edge. */
export function onCap(random: Random, radius: number, cap: number, noise: number) {
  const lowest = Math.cos((cap / 2) * DEGREE);
  return (): Vec3 => {
    const z = lowest + (1 - lowest) * random.next();
    const turn = 2 * Math.PI * random.next();
    const r = radius + noise * random.normal();
    const s = Math.sqrt(1 - z * z);
    return [r * s * Math.cos(turn), r * s * Math.sin(turn), r * z];
  };
}

/** Full turn of a cone about z that opens upward; `radius` at z = 0, `length` along its side. */
export function onCone(random: Random, radius: number, halfAngle: number, length: number, noise: number) {
  const [cos, sin] = [Math.cos(halfAngle * DEGREE), Math.sin(halfAngle * DEGREE)];
  return (): Vec3 => {
    const along = length * (random.next() - 0.5);
    const off = noise * random.normal();
    const r = radius + along * sin + off * cos;
    const turn = 2 * Math.PI * random.next();
    return [r * Math.cos(turn), r * Math.sin(turn), along * cos - off * sin];
  };
}
