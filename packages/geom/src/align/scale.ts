import type { Uncertainty } from '../feature/uncertainty.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { pointIndex } from '../scan/point-index.js';
import { derivatives, type Fine, middleOfPairs } from './fine.js';
import type { Patches } from './patches.js';
import { type Matcher, matcher, posesOf } from './poses.js';

/** Scales by which files are often wrong: inches, centimeters, meters, feet taken as mm, and the other way around. */
export const UNITS = [25.4, 10, 1000, 304.8, 1 / 25.4, 1 / 10, 1 / 1000, 1 / 304.8];
/** Scales between, for bodies that are larger or smaller as a whole: shrinkage, a scanner badly calibrated. */
const BETWEEN = [1, 0.93, 1.07];
/** What a pose at another scale must have in common to be named. */
const ENOUGH = 0.5;

/**
 * The scale at which the distances of a pose that stands would be least, if it differs from 1 by more than chance and by more than the
 * distances' own spread over the body; else undefined. Told by one more column beside the six of the move.
 */
export function scaleLeft({ pairs, weights, sigma }: Fine, { covariance }: Uncertainty): number | undefined {
  const { center, reach } = middleOfPairs(pairs, weights);
  const matrix = new Float64Array(49);
  const right = new Float64Array(7);
  const j = new Float64Array(7);
  let used = 0;
  for (let i = 0; i < pairs.count; i++) {
    const w = weights[i];
    if (w === 0) continue;
    used++;
    derivatives(pairs, i, center, j);
    j[6] = 0;
    for (let k = 0; k < 3; k++) j[6] += pairs.normal[3 * i + k] * (pairs.place[3 * i + k] - center[k]);
    for (let a = 0; a < 7; a++) {
      right[a] -= w * j[a] * pairs.off[i];
      for (let b = 0; b < 7; b++) matrix[7 * a + b] += w * j[a] * j[b];
    }
  }
  const solved = scaledCholesky(matrix, 7);
  if (!solved) return undefined;
  const scale = solved.solve(right)[6];
  // The ± of one shift says what each point's share of the noise comes to.
  const perPoint = Math.min(covariance[0], covariance[7], covariance[14]) * used;
  const standard = Math.sqrt(solved.inverse()[48] * Math.max(perPoint, sigma ** 2));
  return Math.abs(scale) > 5 * standard && Math.abs(scale) * reach > Math.max(sigma, 1e-9 * reach)
    ? 1 + scale
    : undefined;
}

/** The scale at which a scan that does not fit would fit; undefined where none is found. */
export function fittingScale(
  scan: Patches,
  reference: Patches,
  extents: readonly [number, number],
): number | undefined {
  const ratio = extents[1] / extents[0];
  for (const factor of [...BETWEEN, ...UNITS]) {
    // As large as the reference, or a part of it.
    if (ratio / factor < 0.7 || ratio / factor > 4) continue;
    const found = scaleNear(scan, reference, factor);
    if (found !== undefined) return found;
  }
  return undefined;
}

function scaleNear(scan: Patches, reference: Patches, factor: number): number | undefined {
  let scale = factor;
  let own = resized(scan, scale);
  let [first] = posesOf(own, reference).found;
  if (!first) return undefined;
  const before = first.share;
  let match: Matcher = matcher(own, reference);
  for (let round = 0; round < 12; round++) {
    // From what a pair of pieces may be off in votes down to what lies on the other.
    const width = match.coarse * ((3 * match.tolerance) / match.coarse) ** Math.min(1, round / 8);
    const more = match.scaleOf(first.motion, width);
    scale *= more;
    own = resized(scan, scale);
    match = matcher(own, reference);
    // The middle of what both show stays where it is.
    first = match.drawn(match.resized(first.motion, more), reference.side);
    if (Math.abs(more - 1) < 1e-5) break;
  }
  first = match.polished(first.motion);
  const isUnit = Math.abs(scale - 1) < 2e-4;
  return first.share > ENOUGH && (factor !== 1 || first.share > 1.3 * before) && !isUnit ? scale : undefined;
}

function resized(patches: Patches, scale: number): Patches {
  const middle = patches.middle.map((x) => x * scale);
  return { ...patches, middle, thickness: patches.thickness * scale, index: pointIndex({ positions: middle }) };
}
