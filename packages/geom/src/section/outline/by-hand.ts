import { FettleError } from '../../error.js';
import type { Polyline } from '../section.js';
import { courseOf, nearestAlong } from '../stretch/resample.js';
import { type StretchBetween, wayBetween } from '../stretch/stretch.js';
import { fitFlat } from './fit.js';
import { type Outline, partOf } from './places.js';
import { flatDistance } from './shape.js';
import { type Stretch, splitOutline } from './split.js';

/** A piece of a profile between the outline's points nearest to two picks (in scan axes), as a line or as an arc. */
export interface HandPiece extends Omit<StretchBetween, 'polyline'> {
  readonly as: 'line' | 'arc';
}

/**
 * The points of picked pieces.
 *
 * @throws FettleError `profile-piece-short` where there are too few points between two picks; `profile-pieces-overlap`
 */
export function handStretches(polyline: Polyline, pieces: readonly HandPiece[]): Stretch[] {
  if (pieces.length === 0) return [];
  const course = courseOf(polyline);
  const n = polyline.flat.length / 2;
  const taken = new Int32Array(n).fill(-1);
  const stretches = pieces.map(({ from, to, long = false, as }, byHand): Stretch => {
    const { first, length } = wayBetween(course, nearestAlong(course, from).way, nearestAlong(course, to).way, long);
    let start = course.along.findIndex((way) => way >= first - 1e-9);
    if (start < 0 || start === n) start = n;
    let count = 0;
    while (count < n && wayTo(course.along, start + count, n, course.length) <= first + length + 1e-9) count++;
    const least = as === 'line' ? 3 : 4;
    if (count < least)
      throw new FettleError(
        'profile-piece-short',
        `Piece ${byHand + 1}: the outline has ${count} ${count === 1 ? 'point' : 'points'} between its picks; ` +
          `${as === 'line' ? 'a line' : 'an arc'} needs ${least}. Pick farther apart.`,
      );
    for (let p = start; p < start + count; p++) {
      if (taken[p % n] >= 0)
        throw new FettleError(
          'profile-pieces-overlap',
          `Pieces ${taken[p % n] + 1} and ${byHand + 1} share a stretch of the outline. Pick them apart.`,
        );
      taken[p % n] = byHand;
    }
    return { from: start % n, to: (start % n) + count, shape: as, byHand };
  });
  return stretches.sort((a, b) => a.from - b.from);
}

/** Way along a closed line to a point whose index may run past its end. */
const wayTo = (along: Float64Array, i: number, n: number, length: number): number =>
  i < n ? along[i] : along.length > n ? along[i - n] + length : Number.POSITIVE_INFINITY;

/** Picked pieces up to where the outline leaves their shapes (three times the noise): nobody picks to the last point. */
function grown(outline: Outline, picked: readonly Stretch[], sigma: number): Stretch[] {
  const { flat, weights, closed, wave } = outline;
  const within = 3 * sigma * Math.hypot(1, wave?.ratio ?? 0);
  const n = weights.length;
  const taken = new Uint8Array(n);
  for (const { from, to } of picked) for (let p = from; p < to; p++) taken[p % n] = 1;
  return picked.map((stretch) => {
    const shape = fitFlat(outline, stretch.shape, stretch.from, stretch.to);
    const joins = (p: number): boolean => {
      if (!closed && (p < 0 || p >= n)) return false;
      const q = ((p % n) + n) % n;
      if (taken[q] || Math.abs(flatDistance(shape, flat[2 * q], flat[2 * q + 1])) > within) return false;
      taken[q] = 1;
      return true;
    };
    let { from, to } = stretch;
    while (joins(to)) to++;
    while (joins(from - 1)) from--;
    return from < 0 ? { ...stretch, from: from + n, to: to + n } : { ...stretch, from, to };
  });
}

/** The outline split into pieces, those picked among them; between picks too close for a piece lie points of none. */
export function splitAround(
  outline: Outline,
  picked: readonly Stretch[],
  sigma: number,
  minimumPoints: number,
): Stretch[] {
  if (picked.length === 0) return splitOutline(outline, sigma, minimumPoints);
  const byHand = grown(outline, picked, sigma).sort((a, b) => a.from - b.from);
  const { weights, closed } = outline;
  const n = weights.length;
  const rests = byHand.map(({ to }, k) => ({ from: to, to: byHand[k + 1]?.from ?? (closed ? byHand[0].from + n : n) }));
  if (!closed) rests.unshift({ from: 0, to: byHand[0].from });
  const found = rests.flatMap(({ from, to }) => {
    if (to - from < minimumPoints) return [];
    return splitOutline(partOf(outline, from, to), sigma, minimumPoints).map((s) => ({
      ...s,
      from: s.from + from,
      to: s.to + from,
    }));
  });
  return [...byHand, ...found].sort((a, b) => a.from - b.from);
}
