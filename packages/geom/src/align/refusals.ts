import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { countText } from '../text/number-text.js';
import { AlignmentError } from './alignment.js';
import { held, waysAbout } from './freedom.js';
import type { Patches } from './patches.js';

/** Pieces of surface a scan is told by at least. */
const FEWEST = 24;
/** A way that moves a surface along its normals by less than this, mean square, leaves it where it is. */
const STAYS = 0.02;

/** @throws AlignmentError `no-alignment` where a scan has too little surface, `ambiguous-alignment` where it is one plane */
export function refuseTooLittle(scan: Scan, own: Patches, reference: Scan, other: Patches, pairs: number): void {
  for (const [one, patches] of [
    [scan, own],
    [reference, other],
  ] as const)
    if (patches.size < FEWEST)
      throw new AlignmentError(
        'no-alignment',
        `${scanName(one)}: ${countText(one.positions.length / 3)} points make ${countText(patches.size)} pieces of surface, too few ` +
          'to tell where they belong. Scan more of the body, or see whether this is the right file.',
      );
  for (const [one, patches] of [
    [scan, own],
    [reference, other],
  ] as const) {
    const ways = waysAbout(patches.size, patches.middle);
    const { values, ways: all } = held(ways, patches.size, patches.middle, patches.normal);
    const isPlane = values[2] < STAYS && values[3] > STAYS && isFlat(patches);
    if (isPlane && pairs < 2)
      throw new AlignmentError(
        'ambiguous-alignment',
        `${scanName(one)} shows one plane: it lies alike wherever it slides and however it turns in it. Scan what stands out of the ` +
          'plane too, or give two pairs of places (near).',
        {
          free: all.slice(0, 3).map((way) => ({
            shift: [way[0], way[1], way[2]],
            turn: [way[3] / ways.reach, way[4] / ways.reach, way[5] / ways.reach],
            at: ways.center,
          })),
        },
      );
  }
}

/** Whether nearly all normals are alike. */
function isFlat({ size, normal }: Patches): boolean {
  const sums = new Float64Array(6);
  for (let i = 0; i < 3 * size; i += 3) {
    const [x, y, z] = [normal[i], normal[i + 1], normal[i + 2]];
    sums[0] += x * x;
    sums[1] += y * y;
    sums[2] += z * z;
    sums[3] += x * y;
    sums[4] += x * z;
    sums[5] += y * z;
  }
  const [xx, yy, zz, xy, xz, yz] = sums;
  // Of normals all along one line the squares of the sums come to the square of their number.
  return xx * xx + yy * yy + zz * zz + 2 * (xy * xy + xz * xz + yz * yz) > 0.96 * size * size;
}
