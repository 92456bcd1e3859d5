import type { Vec3 } from '../math/vec3.js';

/** An infinite plane. */
export interface Plane {
  readonly kind: 'plane';
  readonly point: Vec3;
  readonly normal: Vec3;
}

/** An infinite straight line. */
export interface Line {
  readonly kind: 'line';
  readonly point: Vec3;
  readonly direction: Vec3;
}

export interface Point {
  readonly kind: 'point';
  readonly position: Vec3;
}

export interface Circle {
  readonly kind: 'circle';
  readonly center: Vec3;
  readonly normal: Vec3;
  readonly radius: number;
}

export interface Sphere {
  readonly kind: 'sphere';
  readonly center: Vec3;
  readonly radius: number;
}

/** An infinite cylinder about the axis through `point` along `direction`. */
export interface Cylinder {
  readonly kind: 'cylinder';
  readonly point: Vec3;
  readonly direction: Vec3;
  readonly radius: number;
}

/** The half of a cone that opens from `apex` along `direction`; `halfAngle` in (0, π/2), radians. */
export interface Cone {
  readonly kind: 'cone';
  readonly apex: Vec3;
  readonly direction: Vec3;
  readonly halfAngle: number;
}

/** Two parallel straight sides joined by half circles, in the plane square to `normal`. */
export interface Slot {
  readonly kind: 'slot';
  /** In the middle of the slot. */
  readonly center: Vec3;
  readonly normal: Vec3;
  /** Along the straight sides, square to `normal`. */
  readonly direction: Vec3;
  /** Overall, end to end, as a caliper measures it; the centers of the round ends are `length − width` apart. */
  readonly length: number;
  /** Between the straight sides: the diameter of the ends. */
  readonly width: number;
}

/** An ellipse in the plane square to `normal`. */
export interface Ellipse {
  readonly kind: 'ellipse';
  readonly center: Vec3;
  readonly normal: Vec3;
  /** Of the major axis, square to `normal`. */
  readonly direction: Vec3;
  /** Half the longest diameter. */
  readonly major: number;
  /** Half the shortest diameter. */
  readonly minor: number;
}

/** Plain frozen data, mm and radians; normals and directions have unit length. */
export type Feature = Plane | Line | Point | Circle | Sphere | Cylinder | Cone | Slot | Ellipse;

export type FeatureKind = Feature['kind'];
