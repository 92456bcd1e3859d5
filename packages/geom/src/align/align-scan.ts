import type { Warning } from '../error.js';
import { scanNoise } from '../noise/measure-scan.js';
import type { ScanNoise } from '../noise/scan-noise.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { lengthText } from '../text/number-text.js';
import { type Alignment, AlignmentError, moveOfRigid, type Rival } from './alignment.js';
import { chosenPose } from './choose-pose.js';
import { type Fine, fineStep } from './fine.js';
import type { NearPair } from './hint.js';
import { lyingThere } from './in-place.js';
import { moveUncertainty } from './move-uncertainty.js';
import { groundOf, samplePoints } from './pairing.js';
import { patchesOf } from './patches.js';
import { posesOf } from './poses.js';
import { refuseTooLittle } from './refusals.js';
import { scaleLeft, UNITS } from './scale.js';
import { extentOf, patchSide } from './size.js';

export interface AlignOptions {
  /** Places of the scan and where they are on the reference, about: they choose among poses that explain the scan alike. */
  readonly near?: readonly NearPair[];
}

/** Points of the scan the fine step is made with. */
const POINTS = 20_000;

/**
 * Lays a scan on a reference: the rigid move from the scan's axes to those of the reference, from any pose and with no start. Meshes and
 * clouds alike, of any density; only a part need be in common. Scale is not fitted.
 *
 * Both surfaces are cut into small flat pieces. Pairs of pieces vote for poses by what a rigid motion leaves as it is (`PairTable`); the
 * best are drawn closer on the pieces, judged by how many then lie on the other surface to within the noise, and the one left is laid
 * by least squares of the points' distances (`fineStep`). No pose is chosen where another explains the scan nearly as well.
 *
 * Measured on a pump with half of it cut off: of the poses voted for, 32 to 54 % are right, and the best one is in each of ten draws; in 240 draws
 * of poses, cuts, densities and strays (`tests/bench/align-draws.ts`) none is wrong and none refused. No other way of voting was compared.
 *
 * Warnings: `align-weak` where the move is weakly held along a way; `align-scale` where the scan fits better at another scale;
 * `align-not-converged`.
 *
 * @throws AlignmentError `no-alignment` with the best share found, and the scale where another fits; `ambiguous-alignment` with the
 * rivals as moves
 */
export function alignScan(scan: Scan, reference: Scan, { near = [] }: AlignOptions = {}): Alignment {
  const there = inPlace(scan, reference);
  if (there) return there;
  refuseOtherUnits(scan, reference);
  const side = patchSide(scan, reference);
  const [own, other] = [patchesOf(scan, side), patchesOf(reference, side)];
  refuseTooLittle(scan, own, reference, other, near.length);
  const poses = posesOf(own, other);
  const { motion, rivals, free } = chosenPose(scan, own, reference, other, poses, near);
  const faces = own.faces && other.faces;
  const points = samplePoints(scan, own, POINTS);
  const fine = fineStep(points, groundOf(reference, other), motion, {
    widest: Math.max(2 * poses.tolerance, side / 8),
    faces,
    free: free.map((way) => ({ way, ...poses.ways })),
  });
  return alignmentOf(scan, reference, fine, points.size, rivals, [scanNoise(scan), scanNoise(reference)]);
}

/** How a scan lies on a reference if it is there already; told in milliseconds, see {@link lyingThere}. Else undefined. */
export function inPlace(scan: Scan, reference: Scan): Alignment | undefined {
  const there = lyingThere(scan, reference);
  return there && { ...alignmentOf(scan, reference, there.fine, there.looked, [], []), inPlace: true };
}

/** Scans so much larger or smaller than the reference are looked at in other units first, */
const SIZES = [0.15, 10] as const;
/** in which they are as large as the reference or a part of it. */
const PLAUSIBLE = [0.7, 4] as const;

/** @throws AlignmentError `no-alignment` with the scale, where the scan lies on the reference in another unit */
function refuseOtherUnits(scan: Scan, reference: Scan): void {
  const ratio = extentOf(reference) / extentOf(scan);
  if (ratio > SIZES[0] && ratio < SIZES[1]) return;
  for (const scale of UNITS) {
    if (ratio / scale < PLAUSIBLE[0] || ratio / scale > PLAUSIBLE[1]) continue;
    const resized: Scan = { ...scan, positions: scan.positions.map((x) => x * scale) };
    let share = 0;
    try {
      share = alignScan(resized, reference).share;
    } catch (error) {
      if (!(error instanceof AlignmentError) || error.code !== 'ambiguous-alignment') continue;
      share = error.share;
    }
    throw new AlignmentError(
      'no-alignment',
      `${scanName(scan)} does not fit ${scanName(reference)} as it is, but would at ${scale.toPrecision(4)} times its size ` +
        `(${Math.round(100 * share)} % of it then lies there). It was written in another unit: read it in that.`,
      { share, scale },
    );
  }
}

function alignmentOf(
  scan: Scan,
  reference: Scan,
  fine: Fine,
  size: number,
  rivals: readonly Rival[],
  noises: readonly ScanNoise[],
): Alignment {
  const { pairs, weights } = fine;
  let [used, sum] = [0, 0];
  for (let i = 0; i < pairs.count; i++) {
    if (weights[i] === 0) continue;
    used++;
    sum += pairs.off[i] ** 2;
  }
  const share = used / size;
  const { uncertainty, weak } = moveUncertainty(fine, noises);
  const warnings: Warning[] = weak.map(({ standard }) => ({
    code: 'align-weak',
    message:
      `${scanName(scan)}: little of what both scans show holds the move along one way: it may be off by ` +
      `${lengthText(Number((2 * standard).toPrecision(2)))} there. Give a pair of places (near), or scan more of what is square to it.`,
  }));
  if (!fine.converged)
    warnings.push({
      code: 'align-not-converged',
      message: `${scanName(scan)}: the move still changed after ${fine.rounds} rounds. See whether parts moved between the scans.`,
    });
  const scale = scaleLeft(fine, uncertainty);
  if (scale !== undefined)
    warnings.push({
      code: 'align-scale',
      message:
        `${scanName(scan)} fits ${reference.name} better at ${scale.toPrecision(6)} times its size. Calibrate the scanner, or scale one of ` +
        'the scans by a known length.',
    });
  return {
    move: moveOfRigid(fine.motion),
    share,
    rms: Math.sqrt(sum / Math.max(1, used)),
    uncertainty,
    weak,
    rivals,
    inPlace: false,
    converged: fine.converged,
    warnings,
  };
}
