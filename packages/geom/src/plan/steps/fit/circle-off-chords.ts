import type { Circle, Feature, Plane } from '../../../feature/feature.js';
import { fitShape, type ShapeOptions } from '../../../fit/by-kind/fit-shape.js';
import type { Fit } from '../../../fit/fit.js';
import { distance } from '../../../math/vec3.js';
import type { Mesh } from '../../../scan/scan.js';
import { edgesAt } from '../../../section/mesh/chords.js';
import { offChords } from '../../../section/mesh/off-chords.js';
import { widened } from './widened.js';

/** Where chords lie hardly depends on the center: three rounds bring it to rounding. */
const ROUNDS = 5;
const SAME = 1e-9;
/** Place of the radius among a circle's parameters. */
export const RADIUS = 5;

/** A circle through points of a mesh's section carried off the chords they lie on. */
export interface CircleOffChords {
  readonly fit: Fit<Feature>;
  /** The points it is fitted to, xyz xyz …, in the order of those given. */
  readonly positions: Float64Array;
  /** Middle length of the edges crossed, mm; 0 where none was crossed. */
  readonly side: number;
}

/**
 * Fits a circle to the section of a mesh. Its points lie where edges of triangles cross the plane, on chords of a round wall; they are
 * carried out to the arc first. That holds where the mesh has its points on the surface; where they are means of it they lie under it by
 * as much again at most, and half of that, as a rectangular error, goes into the ± of the radius.
 *
 * @param positions crossings as `cutMesh` gives them, xyz xyz …
 */
export function circleOffChords(
  mesh: Mesh,
  plane: Plane,
  positions: Float64Array,
  options: ShapeOptions<'circle'>,
): CircleOffChords {
  const edges = edgesAt(mesh, plane, positions);
  let fit: Fit<Circle> = fitShape('circle', { positions }, options);
  let moved = { points: positions, mean: 0, side: 0 };
  for (let round = 0; round < ROUNDS; round++) {
    const { center, radius } = fit.feature;
    moved = offChords(positions, edges, mesh.positions, fit.feature);
    if (moved.mean === 0) break;
    fit = fitShape('circle', { positions: moved.points }, { ...options, initial: fit.feature });
    if (distance(center, fit.feature.center) + Math.abs(radius - fit.feature.radius) < SAME * radius) break;
  }
  const isRadiusGiven = fit.uncertainty.covariance[RADIUS * 7] === 0;
  const left = moved.mean / 2 / Math.sqrt(3);
  return {
    fit: left > 0 && !isRadiusGiven ? widened(fit, new Map([[RADIUS, left]]), []) : fit,
    positions: moved.points,
    side: moved.side,
  };
}
