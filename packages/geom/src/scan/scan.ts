import type { Vec3 } from '../math/vec3.js';

/** Points to fit or cut: all of `positions`, or those `select` names. A {@link Scan} is one. */
export interface Points {
  /** xyz xyz …, mm. */
  readonly positions: Float64Array;
  /** Indices of points, each in [0, positions.length / 3). Absent: all points. */
  readonly select?: Uint32Array;
  /** Unit normals, xyz xyz …, one a point; zero where unknown. They decide the sign of fitted normals. */
  readonly normals?: Float32Array;
}

/** A scan: a mesh if it has triangles, else a cloud. */
export interface Scan extends Points {
  readonly positions: Float64Array;
  /** Vertex indices, three a triangle. */
  readonly triangles?: Uint32Array;
  readonly normals?: Float32Array;
  /** Red, green, blue, 0 to 255, three a point. */
  readonly colors?: Uint8Array;
  readonly units: 'mm';
  /** File name or what the caller calls it; it opens every message about this scan. */
  readonly name: string;
}

/** A scan that has triangles. */
export type Mesh = Scan & { readonly triangles: Uint32Array };

/** Axis-aligned bounds in the scan's own axes, mm. */
export interface Bounds {
  readonly min: Vec3;
  readonly max: Vec3;
}
