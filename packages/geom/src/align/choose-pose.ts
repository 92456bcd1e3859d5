import type { Vec3 } from '../math/vec3.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { countText, lengthText } from '../text/number-text.js';
import { AlignmentError, moveOfRigid, type Rival } from './alignment.js';
import type { Way, Ways } from './freedom.js';
import { drawnToPairs, type NearPair, offPairs } from './hint.js';
import { mirrored } from './mirror.js';
import type { Match } from './patch-match.js';
import type { Patches } from './patches.js';
import { type Poses, posesOf, RIVAL } from './poses.js';
import type { Rigid } from './rigid.js';
import { fittingScale } from './scale.js';
import { extentOf } from './size.js';

/** A pose needs this share of the smaller scan in common, */
const LEAST_SHARE = 0.12;
/**
 * and of what comes near the reference this share must lie on it. Measured: scans of a pump 0.85, views of a room by a depth camera 0.78
 * and 0.83; the pump's mirror image 0.59 to 0.65, the pump 1 % too large 0.54, views of other parts of the room 0.70.
 */
const LEAST_ON = 0.75;

export interface Chosen {
  readonly motion: Rigid;
  /** The other poses that the pairs of places decided against. */
  readonly rivals: readonly Rival[];
  readonly free: readonly Way[];
}

export const isSound = ({ share, near }: Match, own: Patches, other: Patches): boolean =>
  share >= LEAST_ON * near && share * own.size >= LEAST_SHARE * Math.min(own.size, other.size);

/** @throws AlignmentError as `alignScan` does */
export function chosenPose(
  scan: Scan,
  own: Patches,
  reference: Scan,
  other: Patches,
  { found, free, ways }: Poses,
  near: readonly NearPair[],
): Chosen {
  const sound = found.filter((one) => isSound(one, own, other));
  if (sound.length === 0 || sound[0].share < RIVAL * found[0].share) refuse(scan, own, reference, other, found[0]);
  const rivals = sound.filter(({ share }) => share >= RIVAL * sound[0].share);
  if (near.length === 0) {
    if (rivals.length > 1 || free.length > 0) refuseMirror(scan, own, reference, other, rivals[0].share);
    if (rivals.length > 1 || free.length > 0) ambiguous(scan, reference, rivals, free, ways);
    return { motion: rivals[0].motion, rivals: [], free };
  }
  const told = rivals
    .map((one) => ({ ...one, motion: drawnToPairs(near, one.motion, free, ways) }))
    .map((one) => ({ ...one, off: offPairs(near, one.motion) }))
    .sort((a, b) => a.off - b.off);
  const [first, second] = told;
  const extent = ways.reach;
  if (first.off > extent / 2)
    throw new AlignmentError(
      'no-alignment',
      `${scanName(scan)}: in every pose in which it lies on ${scanName(reference)} the pairs of places (near) are ` +
        `${lengthText(first.off)} apart or more. Give them anew: each first the place on the scan, then that on the reference.`,
      { share: first.share, rivals: rivals.map(rivalOf) },
    );
  const isTold = !second || second.off - first.off > Math.max(first.off, extent / 50);
  if (!isTold || !holds(near, first.motion, free, ways)) ambiguous(scan, reference, rivals, free, ways, near.length);
  return { motion: first.motion, rivals: told.slice(1).map(rivalOf), free };
}

const rivalOf = ({ motion, share }: Match): Rival => ({ move: moveOfRigid(motion), share });

/** Whether the pairs' places move by every free way, each otherwise. */
function holds(near: readonly NearPair[], motion: Rigid, free: readonly Way[], { center, reach }: Ways): boolean {
  const columns = free.map((way) =>
    near.flatMap(([from]) => {
      const { r, t } = motion;
      const d = [0, 1, 2].map(
        (k) => r[3 * k] * from[0] + r[3 * k + 1] * from[1] + r[3 * k + 2] * from[2] + t[k] - center[k],
      );
      const w = [way[3] / reach, way[4] / reach, way[5] / reach];
      return [
        way[0] + w[1] * d[2] - w[2] * d[1],
        way[1] + w[2] * d[0] - w[0] * d[2],
        way[2] + w[0] * d[1] - w[1] * d[0],
      ];
    }),
  );
  // Gram and Schmidt: what is left of each column beside those before it.
  const kept: number[][] = [];
  return columns.every((column) => {
    let left = column;
    for (const one of kept) {
      const along = left.reduce((sum, x, k) => sum + x * one[k], 0);
      left = left.map((x, k) => x - along * one[k]);
    }
    const long = Math.hypot(...left);
    kept.push(left.map((x) => x / long));
    return long > 0.1;
  });
}

function ambiguous(
  scan: Scan,
  reference: Scan,
  rivals: readonly Match[],
  free: readonly Way[],
  { center, reach }: Ways,
  pairs = 0,
): never {
  const slides = free.length === 0 ? '' : `${rivals.length > 1 ? ', and ' : ''}slides or turns ${ways(free.length)}`;
  const poses = rivals.length > 1 ? `lies on ${scanName(reference)} alike in ${countText(rivals.length)} poses` : '';
  throw new AlignmentError(
    'ambiguous-alignment',
    `${scanName(scan)} ${poses}${slides || ''}${poses === '' ? ` on ${scanName(reference)} and lies as well` : ''}: the body is symmetric, ` +
      `or what was scanned of it is. ${
        pairs === 0
          ? 'Give a pair of places, one on the scan and where it is on the reference (near), that tells the poses apart.'
          : 'The pairs of places given (near) do not tell the poses apart: give one that does, off the axes of symmetry.'
      }`,
    {
      share: rivals[0].share,
      rivals: rivals.map(rivalOf),
      free: free.map((way) => ({
        shift: [way[0], way[1], way[2]] as Vec3,
        turn: [way[3] / reach, way[4] / reach, way[5] / reach] as Vec3,
        at: center,
      })),
    },
  );
}

const ways = (count: number): string => (count === 1 ? 'one way' : `${count} ways`);

function refuse(scan: Scan, own: Patches, reference: Scan, other: Patches, best: Match | undefined): never {
  const share = best?.share ?? 0;
  const percent = `${Math.round(100 * share)} %`;
  const name = scanName(scan);
  const scale = fittingScale(own, other, [extentOf(scan), extentOf(reference)]);
  if (scale !== undefined)
    throw new AlignmentError(
      'no-alignment',
      `${name} does not fit ${scanName(reference)} as it is, but would at ${scale.toPrecision(4)} times its size. See in which units it ` +
        'was written and read it in those; if they are right, the scanner or the body is another.',
      { share, scale },
    );
  refuseMirror(scan, own, reference, other, share);
  throw new AlignmentError(
    'no-alignment',
    `${name} was not found on ${scanName(reference)}: the best pose has ${percent} of it in common, too little or not to within the noise. ` +
      'See whether it is the same body and whether both scans show the same side of it; cut off what stands about it.',
    { share },
  );
}

/** @throws AlignmentError `no-alignment` where the mirror image has more in common than any pose of the scan itself */
function refuseMirror(scan: Scan, own: Patches, reference: Scan, other: Patches, share: number): void {
  const turned = posesOf(mirrored(own), other).found[0];
  if (!turned || !isSound(turned, own, other) || turned.share < 1.2 * share) return;
  throw new AlignmentError(
    'no-alignment',
    `${scanName(scan)} is a mirror image of ${scanName(reference)}: no move lays the one on the other (${Math.round(100 * share)} % at best). ` +
      'See whether an axis was turned about in writing it, or whether this is the part for the other side.',
    { share },
  );
}
