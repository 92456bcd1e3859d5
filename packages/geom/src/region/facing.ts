import { FettleError } from '../error.js';
import { isFiniteVec3, length, type Vec3 } from '../math/vec3.js';
import type { Mesh, Scan } from '../scan/scan.js';
import { vertexNormals } from '../scan/vertex-normals.js';

const known = new WeakMap<Uint32Array, { positions: Float64Array; normals: Float32Array }>();

/** Normals of the points: of the triangles, else those the scan came with; kept with the triangles. */
export function pointNormalsOf(scan: Scan): ArrayLike<number> | undefined {
  const { positions, triangles, normals } = scan;
  if (!triangles) return normals;
  const before = known.get(triangles);
  if (before?.positions === positions) return before.normals;
  const found = vertexNormals({ ...scan, triangles } as Mesh);
  known.set(triangles, { positions, normals: found });
  return found;
}

/**
 * Whether the surface at a point faces a direction; points without a normal do.
 *
 * @throws FettleError of the code given, for a direction without length
 */
export function facesOf(scan: Scan, direction: Vec3, code: string): (point: number) => boolean {
  if (!isFiniteVec3(direction) || length(direction) === 0)
    throw new FettleError(code, `(${direction.join(', ')}) is no direction. Give one of some length.`);
  const normals = pointNormalsOf(scan);
  if (!normals) return () => true;
  const [x, y, z] = direction;
  return (p) => normals[3 * p]! * x + normals[3 * p + 1]! * y + normals[3 * p + 2]! * z >= 0;
}
