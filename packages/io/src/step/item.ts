import type { Circle, Cone, Cylinder, Ellipse, Line, Plane, Point, Slot, Sphere, Vec3 } from '@fettle/geom';

/** What every item has. */
export interface Named {
  /** What CAD shows; no two items of a file may have the same. */
  readonly name: string;
}

/** Part of a turn about an axis. */
export interface Turn {
  /** Where it begins: a direction square to the axis, any length. */
  readonly start: Vec3;
  /** Radians, in (0, 2π), counterclockwise about the axis. */
  readonly sweep: number;
}

/** A rectangle of a plane, about its `point`. */
export interface PlaneFace extends Plane, Named {
  /** The direction of its first side; any length. */
  readonly along: Vec3;
  /** Of the side along `along`, and of the other; mm. */
  readonly size: readonly [length: number, width: number];
}

export interface CylinderFace extends Cylinder, Named {
  /** From where to where along the axis, mm from `point`. */
  readonly span: readonly [from: number, to: number];
  /** Absent: all around. */
  readonly turn?: Turn;
}

export interface ConeFace extends Cone, Named {
  /** From where to where along the axis, mm from the apex; 0 is the apex itself. */
  readonly span: readonly [from: number, to: number];
  /** Absent: all around. */
  readonly turn?: Turn;
}

export interface SphereFace extends Sphere, Named {
  /** The cap about a direction, of any length; `halfAngle` in (0, π), radians, as seen from the center. Absent: the whole sphere. */
  readonly cap?: { readonly toward: Vec3; readonly halfAngle: number };
}

export interface LineEdge extends Line, Named {
  /** From where to where along it, mm from `point`. */
  readonly span: readonly [from: number, to: number];
}

export type WirePiece =
  | { readonly kind: 'line'; readonly start: Vec3; readonly end: Vec3 }
  /** Counterclockwise about `normal` by `sweep` radians, in (0, 2π]; at 2π it ends where it starts. */
  | {
      readonly kind: 'arc';
      readonly start: Vec3;
      readonly end: Vec3;
      readonly center: Vec3;
      readonly normal: Vec3;
      readonly sweep: number;
    };

/** Chains of lines and arcs, each piece starting where the one before it ends. */
export interface Wire extends Named {
  readonly kind: 'wire';
  /** Several have a number behind the name. */
  readonly chains: readonly (readonly WirePiece[])[];
}

/** A right-handed frame: a placement, and its origin and axes to snap to. */
export interface FramePlacement extends Named {
  readonly kind: 'frame';
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  /** Length of the axes shown, mm. Default 10. */
  readonly size?: number;
}

/** Something to write: a feature cut to the size of its data, with a name. Vectors called normal or direction have unit length. */
export type StepItem =
  | PlaneFace
  | CylinderFace
  | ConeFace
  | SphereFace
  | LineEdge
  | Wire
  | FramePlacement
  | (Circle & Named)
  | (Ellipse & Named)
  | (Slot & Named)
  | (Point & Named);
