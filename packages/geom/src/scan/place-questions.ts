import type { Vec3 } from '../math/vec3.js';
import type { Bounds } from './scan.js';

/** The place of a scan nearest to another, or where a ray meets it. */
export interface Found {
  /** On the scan, mm. */
  readonly position: Vec3;
  /** From the place asked about, or along the ray from where it starts, mm. */
  readonly distance: number;
  /** Number of the triangle or point. */
  readonly element: number;
}

/**
 * Questions about place, answered in double precision. The elements are the triangles of a mesh or the points of a cloud
 * (of those selected).
 */
export interface SpatialIndex {
  readonly elements: 'triangles' | 'points';
  /** The nearest element no farther than `within` mm, if there is one. */
  nearest(place: Vec3, within?: number): Found | undefined;
  /** Elements no farther than `radius` mm, in ascending order. */
  within(place: Vec3, radius: number): Uint32Array;
  /** Elements inside or touching a box along the scan's axes, in ascending order. */
  box(box: Bounds): Uint32Array;
  /**
   * The first element a ray meets, `direction` of any length. A ray meets a point if it passes no farther than `reach` mm
   * from it; triangles it meets from either side, and has no `reach`.
   */
  ray(from: Vec3, direction: Vec3, reach?: number): Found | undefined;
}
