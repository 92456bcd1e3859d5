import { FettleError } from '../../error.js';
import type { Vec3 } from '../../math/vec3.js';
import { bounds, boundsDiagonal } from '../../scan/bounds.js';
import type { Mesh, Scan } from '../../scan/scan.js';
import { scanName } from '../../scan/scan-name.js';
import { pointSpacing } from '../../scan/spacing.js';
import { givenText, lengthText } from '../../text/number-text.js';
import { regionIntersect } from '../combine.js';
import { growCloud } from './grow-from.js';
import { MeshGrowth } from './grow-mesh.js';
import type { Growth } from './growth.js';
import { nearestPoint, nearestTriangle } from './seed.js';
import type { Turning } from './smoothing.js';

export interface GrowOptions extends Turning {
  /** Where to begin, in scan axes: the nearest place of the scan is taken. */
  readonly seed: Vec3;
  /** Of a cloud: the widest gap between points that is crossed, mm. Default: twice what the points about the seed
   * are apart on the mean. */
  readonly maxGap?: number;
  /** The radius over which normals are averaged, mm. Default: as wide as the noise about the seed demands. */
  readonly smoothing?: number;
}

/** Seeds farther off than this many point spacings, and this share of the scan's diagonal, are mistakes. */
const farthest = { spacings: 20, share: 0.02 };

/**
 * The points reached from a seed over the surface, as long as it turns no more than `turnStep` from one point to the next and no
 * more than `turnTotal` from the seed overall, in radians: a mesh through its triangles (cracks are not crossed), a cloud through
 * its neighbors. Indices in ascending order; where points are selected, of those.
 *
 * The turn is that of normals averaged over a radius, because those of single triangles of a scan say little: the radius follows
 * from the noise about the seed and from the two limits, and is 0 on a mesh without noise. The turn per point is measured over
 * that radius and divided by the points along it. So a face grows to its fillets, where the surface turns by a point spacing over
 * the fillet's radius with each point, and ends there if `turnStep` is less; at sharp edges it ends up to one radius short.
 * On a cloud it is widened, as far as 80 spacings, where neighbors err together or coordinates are rounded coarsely (`grainAt`); on a mesh
 * the noise is taken to be that of single points: where neighbors err together, choose `smoothing` or wider limits.
 *
 * @throws FettleError `region-turn` for limits that are not above 0, `region-empty` for a seed that is no place or too far from the scan.
 */
export function growRegion(scan: Scan, options: GrowOptions): Uint32Array {
  return grownFrom(scan, options).select;
}

/** The region grown from a seed, with the growth that is over. Errors as of {@link growRegion}. */
export function grownFrom(scan: Scan, options: GrowOptions): { readonly select: Uint32Array; readonly growth: Growth } {
  const { seed } = options;
  refuseTurn(scan, options);
  if (!(Array.isArray(seed) && seed.length === 3 && seed.every(Number.isFinite)))
    throw new FettleError(
      'region-empty',
      `${scanName(scan)}: the seed ${givenText(seed)} is no place. Give three numbers, in scan axes.`,
    );
  const spacing = pointSpacing(scan);
  const nearest = scan.triangles ? nearestTriangle(scan as Mesh, seed) : nearestPoint(scan, seed);
  refuseFar(scan, nearest.distance, spacing);
  const growth = growthFrom(scan, nearest.element, options);
  growth.go(Infinity);
  const grown = growth.points();
  return { select: scan.triangles && scan.select ? regionIntersect(grown, scan.select) : grown, growth };
}

/**
 * The same growing, begun at a triangle of a mesh or a point of a cloud, which goes on as far as it is told to: for a preview that must be
 * there at once.
 *
 * @throws FettleError `region-turn` as {@link growRegion} does
 */
export function growthFrom(scan: Scan, element: number, options: Omit<GrowOptions, 'seed'>): Growth {
  refuseTurn(scan, options);
  const spacing = pointSpacing(scan);
  return scan.triangles
    ? new MeshGrowth(scan as Mesh, element, spacing, options, options.smoothing)
    : growCloud(scan, element, spacing, options, options);
}

function refuseTurn(scan: Scan, { turnStep, turnTotal }: Turning): void {
  if (turnStep > 0 && turnTotal > 0) return;
  throw new FettleError(
    'region-turn',
    `${scanName(scan)}: growing needs a turn per step and a turn overall above 0, not ${turnStep} and ${turnTotal} radians.`,
  );
}

function refuseFar(scan: Scan, distance: number, spacing: number): void {
  if (distance <= farthest.spacings * spacing) return;
  const allowed = Math.max(farthest.spacings * spacing, farthest.share * boundsDiagonal(bounds(scan)));
  if (distance <= allowed) return;
  throw new FettleError(
    'region-empty',
    `${scanName(scan)}: the seed is ${lengthText(distance)} from the scan; a seed must lie on it, or ${lengthText(allowed)} off at most. ` +
      'Pick it on the surface, in scan axes.',
  );
}
