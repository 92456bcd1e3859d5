import type { Plane } from '../feature/feature.js';
import type { Vec3 } from '../math/vec3.js';

/** One piece of a section. */
export interface Polyline {
  readonly closed: boolean;
  /** In scan axes, xyz xyz …, mm. A closed one does not repeat its first point. */
  readonly points: Float64Array;
  /** In the section's own axes, xy xy …, mm. */
  readonly flat: Float64Array;
}

export interface Section {
  readonly plane: Plane;
  /** Origin and axes of the flat coordinates, in scan axes. */
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  /** Of a cloud smoothed, closed outlines by how they lie in each other; none where its points lie in no curves. */
  readonly polylines: readonly Polyline[];
  /** For clouds: indices of the points in the slab. */
  readonly select?: Uint32Array;
  /** For clouds: the projections of those points, xyz xyz …, in scan axes, mm. */
  readonly points?: Float64Array;
  /** For clouds: the same in the section's own axes, xy xy …, mm. */
  readonly flat?: Float64Array;
  /** For clouds: the points in the slab are no farther than this from the plane, mm. */
  readonly halfThickness?: number;
}
