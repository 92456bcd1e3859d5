import type { Vec3 } from '../math/vec3.js';

/** A hole found at its place in a pattern. */
export interface PlacedHole {
  /** Its place among the holes given, from 0. */
  readonly hole: number;
  /** Name of its place in the pattern. */
  readonly name: string;
  /** Where the pattern puts it. */
  readonly nominal: Vec3;
  /** How far off that it is, mm, in the plane of the pattern. */
  readonly off: number;
}

/** A place of a pattern where no hole was given. */
export interface MissingHole {
  readonly name: string;
  readonly nominal: Vec3;
}
