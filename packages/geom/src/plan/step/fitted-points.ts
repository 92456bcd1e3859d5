import type { Feature } from '../../feature/feature.js';
import type { Fit } from '../../fit/fit.js';
import { regionUnion } from '../../region/combine.js';
import type { Points, Scan } from '../../scan/scan.js';

/** What of a scan is to be kept at full density. */
export interface Protection {
  /** Numbers of points, ascending. */
  readonly points: Uint32Array;
  /** Places on the surface, xyz xyz …: the triangles they lie in. */
  readonly places: Float64Array;
}

/**
 * What fits were made to: the points of their regions, those they rejected among them, and of sections the places used. A fit to
 * the entire scan protects nothing.
 */
export function fittedPoints(
  scan: Scan,
  fits: Iterable<{ readonly fit: Fit<Feature>; readonly points: Points }>,
): Protection {
  const regions: Uint32Array[] = [];
  const places: number[] = [];
  for (const { fit, points } of fits) {
    const { used, rejected } = fit;
    const { positions } = points;
    if (positions === scan.positions) {
      if (used.length + rejected.length < positions.length / 3) regions.push(used, rejected);
    } else for (const p of used) places.push(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]);
  }
  return { points: regionUnion(...regions), places: Float64Array.from(places) };
}
