import { FettleError } from '../error.js';
import { cloudNormals } from './cloud-normals.js';
import { LocalQuadric } from './local-quadric.js';
import { pointIndex } from './point-index.js';
import type { Mesh, Scan } from './scan.js';
import { scanName } from './scan-name.js';
import { vertexNormals } from './vertex-normals.js';

export interface CurvatureOptions {
  /**
   * How many nearest points, the point itself among them, a curvature is taken from. Default 30. Noise makes it err in inverse
   * proportion to about their number to the power 3/2: take more where it is not smooth, fewer where radii are not much larger than
   * the points are apart.
   */
  readonly neighbors?: number;
}

/** How a surface bends at each of its points. */
export interface Curvatures {
  /** Principal curvatures, 1/mm, one a point: positive where the surface bends away from its normal, as a ball of radius r by 1/r does. */
  readonly most: Float64Array;
  readonly least: Float64Array;
  /** Unit directions, xyz xyz …, along which the surface bends by `most`, either way; across them it bends by `least`. */
  readonly direction: Float32Array;
  /** 1 for points whose neighbors tell a curvature, 0 where all else is 0: of points not selected, alone, or on a line with their neighbors. */
  readonly known: Uint8Array;
}

/**
 * Principal curvatures of a mesh or cloud at its (selected) points: of the quadric through the nearest points that face the same
 * way ({@link LocalQuadric}). Normals are the scan's own, else those of its triangles, else of its points.
 *
 * @throws FettleError `curvature-neighbors` for fewer than six neighbors
 */
export function curvatures(scan: Scan, { neighbors = 30 }: CurvatureOptions = {}): Curvatures {
  if (!(neighbors >= 6 && Number.isInteger(neighbors)))
    throw new FettleError(
      'curvature-neighbors',
      `${scanName(scan)}: a curvature cannot be taken from ${neighbors} points. Give a whole number, at least 6.`,
    );
  const { positions, select } = scan;
  const normals = scan.normals ?? (scan.triangles ? vertexNormals(scan as Mesh) : cloudNormals(scan));
  const index = pointIndex(scan);
  const count = positions.length / 3;
  const most = new Float64Array(count);
  const least = new Float64Array(count);
  const direction = new Float32Array(3 * count);
  const known = new Uint8Array(count);
  const nearest = new Uint32Array(neighbors);
  const squares = new Float64Array(neighbors);
  const quadric = new LocalQuadric();
  for (let i = 0; i < (select?.length ?? count); i++) {
    const p = select ? select[i] : i;
    const [x, y, z] = [positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]];
    const [nx, ny, nz] = [normals[3 * p], normals[3 * p + 1], normals[3 * p + 2]];
    const length = Math.hypot(nx, ny, nz);
    const found = index.gatherNearest(x, y, z, nearest, squares);
    const size = Math.sqrt(squares[found - 1]);
    if (!(length > 0 && size > 0)) continue;
    quadric.start(x, y, z, nx / length, ny / length, nz / length, size);
    for (let n = 0; n < found; n++) {
      const q = 3 * nearest[n];
      // The other side of a thin wall faces the other way.
      if (normals[q] * nx + normals[q + 1] * ny + normals[q + 2] * nz < 0) continue;
      quadric.add(positions[q], positions[q + 1], positions[q + 2]);
    }
    if (!quadric.solve()) continue;
    known[p] = 1;
    most[p] = quadric.most;
    least[p] = quadric.least;
    direction[3 * p] = quadric.ax;
    direction[3 * p + 1] = quadric.ay;
    direction[3 * p + 2] = quadric.az;
  }
  return { most, least, direction, known };
}
