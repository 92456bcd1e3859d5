import { nthSmallest } from '../math/nth-smallest.js';
import { pointIndex } from '../scan/point-index.js';
import type { Scan } from '../scan/scan.js';
import { pointSpacing } from '../scan/spacing.js';
import { type Fine, stepOf, weightsOf } from './fine.js';
import type { Oriented } from './pair-features.js';
import { type Ground, pairsOf } from './pairing.js';
import { atRest } from './rigid.js';

/** Points of the scan looked at. */
const LOOKED_AT = 2_000;
/** A scan in place has this share of them on the reference, */
const SHARE = 0.6;
/** no farther off its planes than this share of the spacing of the reference, */
const OFF = 0.25;
/** and would not be moved by more than this share of it. */
const MOVED = 0.1;

/**
 * Whether a scan lies on a reference as it is: told in milliseconds by a few points of it, on a reference that is a cloud with normals,
 * as a plan keeps it. Undefined where it does not, or where the reference is another kind of scan.
 */
export function lyingThere(scan: Scan, reference: Scan): { readonly fine: Fine; readonly looked: number } | undefined {
  const { positions, normals } = reference;
  if (reference.triangles || !normals || reference.select) return undefined;
  const spacing = pointSpacing(reference);
  const index = pointIndex(reference);
  const patches = {
    side: spacing,
    size: positions.length / 3,
    middle: positions,
    normal: Float64Array.from(normals),
    faces: true,
    thickness: 0,
    index,
  };
  const ground: Ground = { index, patches, beside: 1.5 * spacing };
  const points = nearestNormals(scan, ground, 1.5 * spacing);
  if (points.size < SHARE * points.looked) return undefined;
  const pairs = pairsOf(points, ground, atRest, 1.5 * spacing, true);
  const sizes = pairs.off.slice(0, pairs.count).map(Math.abs);
  const near = sizes.filter((d) => d < OFF * spacing).length;
  if (near < SHARE * points.looked) return undefined;
  const sigma = Math.max(1e-7 * spacing, 1.4826 * nthSmallest(sizes, sizes.length >> 1));
  const weights = weightsOf(pairs, sigma, ground);
  const step = stepOf(pairs, weights, []);
  if (!step || step.moved > MOVED * spacing) return undefined;
  return { fine: { motion: atRest, pairs, weights, sigma, converged: true, rounds: 0 }, looked: points.looked };
}

/** Points of the scan with the normals that the reference has where they lie. */
function nearestNormals(scan: Scan, { patches }: Ground, within: number): Oriented & { readonly looked: number } {
  const { positions, select } = scan;
  const total = select ? select.length : positions.length / 3;
  const every = Math.max(1, total / LOOKED_AT);
  const middle: number[] = [];
  const normal: number[] = [];
  const nearest = new Uint32Array(1);
  const square = new Float64Array(1);
  let looked = 0;
  for (let k = 0; k < total; k += every) {
    looked++;
    const p = 3 * (select ? select[Math.floor(k)] : Math.floor(k));
    const [x, y, z] = [positions[p], positions[p + 1], positions[p + 2]];
    if (patches.index.gatherNearest(x, y, z, nearest, square, within) === 0) continue;
    const n = 3 * nearest[0];
    middle.push(x, y, z);
    normal.push(patches.normal[n], patches.normal[n + 1], patches.normal[n + 2]);
  }
  return { looked, size: middle.length / 3, middle: Float64Array.from(middle), normal: Float64Array.from(normal) };
}
