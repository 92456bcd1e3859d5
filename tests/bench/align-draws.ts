import { AlignmentError, alignScan, seededRandom } from '@fettle/geom';
import { offTruth } from '../geom/align-bodies.js';
import { freshScan, pumpBody } from './fresh-scans.js';

/** What became of scans of the pump drawn at random, each laid on one reference. */
export interface Tally {
  draws: number;
  right: number;
  wrong: number;
  refused: number;
  /** Draws with 60 % or more of the reference in common, and how many of them are right. */
  large: number;
  largeRight: number;
  /** Of the right ones. */
  mostOff: number;
  mostTurned: number;
}

/** Right is within so many mm of the truth in the middle of the pump, and degrees. */
const RIGHT = [0.1, 0.02] as const;
const middle = [214, -87, 600] as const;

/**
 * Each draw: any pose, noise of its own, cut to between half and all of it by a plane and by up to four holes, a quarter to all of the
 * reference's density, 2 % strays.
 */
export function tally(draws: number, first = 0, onDraw?: (line: string) => void): Tally {
  const bodies = [100_000, 50_000, 25_000].map(pumpBody);
  const reference = freshScan(bodies[0]!, seededRandom(1), { share: 1 }).scan;
  const all: Tally = {
    draws: 0,
    right: 0,
    wrong: 0,
    refused: 0,
    large: 0,
    largeRight: 0,
    mostOff: 0,
    mostTurned: 0,
  };
  for (let draw = first; draw < first + draws; draw++) {
    const random = seededRandom(10_000 + draw);
    const share = 0.5 + 0.5 * random.next();
    const body = bodies[random.below(3)]!;
    const { scan, pose } = freshScan(body, random, { share, holes: random.below(5), strays: 0.02, moved: true });
    const common = scan.positions.length / body.scan.positions.length / 1.02;
    const isLarge = common >= 0.6;
    all.draws++;
    if (isLarge) all.large++;
    try {
      const { move } = alignScan(scan, reference);
      const [mm, degrees] = offTruth(move.matrix, pose, middle);
      const isRight = mm <= RIGHT[0] && degrees <= RIGHT[1];
      if (isRight) {
        all.right++;
        if (isLarge) all.largeRight++;
        all.mostOff = Math.max(all.mostOff, mm);
        all.mostTurned = Math.max(all.mostTurned, degrees);
      } else all.wrong++;
      onDraw?.(`${draw} ${common.toFixed(2)} ${isRight ? 'right' : 'WRONG'} ${mm.toFixed(4)} ${degrees.toFixed(4)}`);
    } catch (error) {
      if (!(error instanceof AlignmentError)) throw error;
      all.refused++;
      onDraw?.(`${draw} ${common.toFixed(2)} ${error.code} ${error.share.toFixed(3)}`);
    }
  }
  return all;
}
