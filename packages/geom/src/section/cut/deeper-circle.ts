import type { Circle, Plane } from '../../feature/feature.js';
import type { Fit } from '../../fit/fit.js';
import { fitCircle } from '../../fit/shapes/circle.js';
import { addScaled, dot, length, subtract, type Vec3 } from '../../math/vec3.js';
import type { Mesh } from '../../scan/scan.js';
import { edgesAt } from '../mesh/chords.js';
import { offChords } from '../mesh/off-chords.js';
import { cutMesh } from './cut.js';

/** A circle is compared with cuts every so many triangles deeper, so many at most. */
const APART = 2;
const CUTS = 4;
/** Points within so many triangles of the circle's line, and within such a share of its radius, are its wall's. */
const NEAR = 2;
const NEAR_SHARE = 0.3;
/** Share of the circle's points and of its arc that a deeper cut must show to be of the same wall. */
const SHOWN = 0.6;
/** Differences of so many standard uncertainties are more than noise. */
const CLEAR = 2.5;
/** A wall whose radius changes by no more standard uncertainties from one deeper cut to the next stands square to them. */
const SQUARE = 2;
const RADIUS = 5;

/** What a wall says, away from an edge, of a circle cut beside the edge. */
export interface Rounding {
  /** By how much the circle's radius is larger than its wall's is there, mm. */
  readonly off: number;
  /** Standard uncertainty of that, mm. */
  readonly standard: number;
  /** How much deeper the wall was looked at, mm. */
  readonly deeper: number;
}

/**
 * Compares a circle cut from a wall with those cut two, four, six and eight triangles deeper, to the side on which the wall goes on, until
 * two of them are alike: beside an edge that is rounded, by its maker or by the triangles, it is larger of a hole and smaller of a shaft.
 * Where even the last two differ the wall leans, and its radius is carried on to the cut.
 *
 * @param side middle length of the mesh's edges at the cut, mm
 * @returns undefined where no deeper cut shows the wall, or the difference is no more than noise
 */
export function roundingOf(mesh: Mesh, plane: Plane, fit: Fit<Circle>, side: number): Rounding | undefined {
  if (!(side > 0)) return undefined;
  const own = fit.feature.radius;
  const ownVariance = radiusVariance(fit);
  const found = [1, -1].flatMap((to): Rounding[] => {
    let near = wallAt(mesh, plane, fit, to * APART * side, side);
    for (let cut = 2; near && cut <= CUTS; cut++) {
      const far = wallAt(mesh, plane, fit, to * cut * APART * side, side);
      if (!far) {
        // A wall that ends there: what is seen of it has to do.
        const standard = Math.sqrt(ownVariance + radiusVariance(near));
        return [{ off: own - near.feature.radius, standard, deeper: (cut - 1) * APART * side }];
      }
      const [nearVariance, farVariance] = [radiusVariance(near), radiusVariance(far)];
      const change = near.feature.radius - far.feature.radius;
      const deeper = cut * APART * side;
      if (Math.abs(change) <= SQUARE * Math.sqrt(nearVariance + farVariance)) {
        const off = own - (near.feature.radius + far.feature.radius) / 2;
        return [{ off, standard: Math.sqrt(ownVariance + (nearVariance + farVariance) / 4), deeper }];
      }
      if (cut === CUTS) {
        const off = own - far.feature.radius - cut * change;
        const variance = ownVariance + cut ** 2 * nearVariance + (cut - 1) ** 2 * farVariance;
        return [{ off, standard: Math.sqrt(variance), deeper }];
      }
      near = far;
    }
    return [];
  });
  if (found.length === 0) return undefined;
  // A wall that goes on to both sides is what both say; beside an edge only one of them is the wall.
  const least = found.reduce((a, b) => (Math.abs(b.off) < Math.abs(a.off) ? b : a));
  return Math.abs(least.off) > CLEAR * least.standard ? least : undefined;
}

const radiusVariance = ({ uncertainty: { covariance, random = covariance } }: Fit<Circle>): number =>
  random[RADIUS * 7];

/** The circle of the wall so far along the plane's normal; undefined where the wall does not go on. */
function wallAt(mesh: Mesh, plane: Plane, fit: Fit<Circle>, along: number, side: number): Fit<Circle> | undefined {
  const { center, radius } = fit.feature;
  // Triangles along an axis are long: another wall may stand within two of them.
  const band = Math.min(NEAR * side, NEAR_SHARE * radius);
  const there: Plane = { ...plane, point: addScaled(plane.point, plane.normal, along) };
  try {
    const all = cutMesh(mesh, there).polylines.flatMap(({ points }) => Array.from(points));
    const near: number[] = [];
    for (let i = 0; i < all.length; i += 3) {
      const p = subtract([all[i], all[i + 1], all[i + 2]] as Vec3, center);
      const far = length(addScaled(p, plane.normal, -dot(p, plane.normal)));
      if (Math.abs(far - radius) < band) near.push(all[i], all[i + 1], all[i + 2]);
    }
    if (near.length < 3 * Math.max(8, SHOWN * fit.count)) return undefined;
    const points = Float64Array.from(near);
    const edges = edgesAt(mesh, there, points);
    let wall = fitCircle({ positions: points }, { plane: there, reject: 3.5 });
    const { points: moved } = offChords(points, edges, mesh.positions, wall.feature);
    wall = fitCircle({ positions: moved }, { plane: there, reject: 3.5, initial: wall.feature });
    return (wall.coverage.arc ?? 0) > SHOWN * (fit.coverage.arc ?? 0) ? wall : undefined;
  } catch {
    // No cut, or no circle in it.
    return undefined;
  }
}
