import { FettleError } from '../error.js';
import { robustScale } from '../fit/outliers/robust-scale.js';
import { allMarked } from '../math/marks.js';
import { nthSmallest } from '../math/nth-smallest.js';
import { pointIndex } from '../scan/point-index.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { keepMarked, type Prepared } from './prepared.js';

export interface StrayOptions {
  /** How many neighbors the distance is averaged over: a group of up to that many strays is still found. Default 8. */
  readonly neighbors?: number;
  /** How far above the usual distance it may be, in its standard deviations. Default 4. */
  readonly sigmas?: number;
}

export interface StraysDropped extends Prepared {
  /** The mean distance to the neighbors: what is usual, and the most that was let pass, mm. */
  readonly usual: number;
  readonly limit: number;
}

/** The least the standard deviation is taken for, of the usual distance: points on a grid have none, and its rim is no stray. */
const leastSpread = 0.25;

/**
 * Drops the stray points of a cloud: those whose mean distance to their nearest neighbors is more than so many standard deviations
 * above the usual one. What is usual is the median, its spread the median absolute deviation: mean and standard deviation,
 * which are more common here (Rusu et al., Robotics and Autonomous Systems 56 (2008) 927), are drawn up by the very strays.
 *
 * @throws FettleError `prepare-mesh` for a mesh; `prepare-limit` for neighbors that are no whole number above 0 or sigmas not above 0
 */
export function dropStrays(cloud: Scan, { neighbors = 8, sigmas = 4 }: StrayOptions = {}): StraysDropped {
  if (cloud.triangles)
    throw new FettleError(
      'prepare-mesh',
      `${scanName(cloud)}: stray points are of clouds, and this is a mesh. Drop its small pieces.`,
    );
  if (!(Number.isInteger(neighbors) && neighbors > 0 && sigmas > 0))
    throw new FettleError(
      'prepare-limit',
      `${scanName(cloud)}: strays are told by a whole number of neighbors and by sigmas, both above 0; given ${neighbors} and ${sigmas}.`,
    );
  const { select: _, ...all } = cloud;
  const gaps = neighborDistances(all, neighbors);
  const usual = nthSmallest(gaps.slice(), gaps.length >> 1);
  const spread = robustScale(
    gaps.map((gap) => gap - usual),
    1,
  );
  const limit = usual + sigmas * Math.max(spread, leastSpread * usual);
  const marks = allMarked(gaps.length);
  for (let p = 0; p < gaps.length; p++) if (gaps[p] > limit) marks[p] = 0;
  return { ...keepMarked(cloud, 'dropping strays', marks), usual, limit };
}

/** For each point the mean distance to its nearest neighbors, mm; fewer than asked for where there are not so many. */
function neighborDistances(cloud: Scan, neighbors: number): Float64Array {
  const index = pointIndex(cloud);
  const { positions } = cloud;
  const means = new Float64Array(positions.length / 3);
  // The point itself is the nearest.
  const points = new Uint32Array(neighbors + 1);
  const squares = new Float64Array(neighbors + 1);
  for (let p = 0; p < means.length; p++) {
    const found = index.gatherNearest(positions[3 * p], positions[3 * p + 1], positions[3 * p + 2], points, squares);
    let sum = 0;
    for (let i = 1; i < found; i++) sum += Math.sqrt(squares[i]);
    if (found > 1) means[p] = sum / (found - 1);
  }
  return means;
}
