import type { Vec3 } from '@fettle/geom';

/** Where the scanner's own axes happen to lie: rotated and shifted against the pump's. */
export interface Pose {
  /** The pump's x, y and z axes and its origin, in scan axes. */
  readonly x: Vec3;
  readonly y: Vec3;
  readonly z: Vec3;
  readonly origin: Vec3;
}

/** Turned by three angles about the scanner's x, y and z axes, in that order, then shifted; degrees and mm. */
export function poseFrom(turns: Vec3, origin: Vec3): Pose {
  const turn = (p: Vec3): Vec3 => {
    let [x, y, z] = p;
    const [a, b, c] = turns.map((t) => (t * Math.PI) / 180) as [number, number, number];
    [y, z] = [y * Math.cos(a) - z * Math.sin(a), y * Math.sin(a) + z * Math.cos(a)];
    [z, x] = [z * Math.cos(b) - x * Math.sin(b), z * Math.sin(b) + x * Math.cos(b)];
    [x, y] = [x * Math.cos(c) - y * Math.sin(c), x * Math.sin(c) + y * Math.cos(c)];
    return [x, y, z];
  };
  return { x: turn([1, 0, 0]), y: turn([0, 1, 0]), z: turn([0, 0, 1]), origin };
}

export function turnToScan({ x, y, z }: Pose, d: Vec3): Vec3 {
  return [
    d[0] * x[0] + d[1] * y[0] + d[2] * z[0],
    d[0] * x[1] + d[1] * y[1] + d[2] * z[1],
    d[0] * x[2] + d[1] * y[2] + d[2] * z[2],
  ];
}

export function pointToScan(pose: Pose, p: Vec3): Vec3 {
  const [x, y, z] = turnToScan(pose, p);
  return [x + pose.origin[0], y + pose.origin[1], z + pose.origin[2]];
}

export const turnToPump = ({ x, y, z }: Pose, d: Vec3): Vec3 => [dot(d, x), dot(d, y), dot(d, z)];

export const pointToPump = (pose: Pose, p: Vec3): Vec3 =>
  turnToPump(pose, [p[0] - pose.origin[0], p[1] - pose.origin[1], p[2] - pose.origin[2]]);

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
