import { FettleError, type Warning } from '../../../error.js';
import type { Feature, FeatureKind } from '../../../feature/feature.js';
import { type Base, moveOf } from '../../../feature/small-moves.js';
import type { Fit } from '../../../fit/fit.js';
import { studentFactor } from '../../../math/distributions.js';
import type { Section } from '../../../section/section.js';
import { countText, lengthText } from '../../../text/number-text.js';
import { widened } from './widened.js';

/** A piece of a section's points that a fit is tried without. */
interface Piece {
  readonly what: string;
  /** Numbers of its points. */
  readonly points: readonly number[];
}

/** A piece with more than this share of the points is no few. */
const FEW = 1 / 3;
/** Adjacent points left out together: this share of all, and at least two. */
const ADJACENT = 0.05;
/** Fits to more points than this are tried without polylines alone: no few of them decide. */
const MOST = 1000;
/** Of more polylines than this the longest are tried: each costs a fit. */
const MOST_PIECES = 40;
/** Names of the parameters that places and sizes go by. */
const NAMES: Partial<Record<FeatureKind, readonly string[]>> = {
  line: ['place', 'place', 'direction', 'direction'],
  circle: ['center', 'center', 'center', 'normal', 'normal', 'radius'],
  slot: ['center', 'center', 'direction', 'length', 'width'],
  ellipse: ['center', 'center', 'direction', 'longest radius', 'shortest radius'],
};

/**
 * Tries a fit to a section without each polyline in turn and, of fits to few points, without each run of adjacent points: the deletion
 * diagnostics of Belsley, Kuh & Welsch (1980), by fitting again. A parameter that moves by more than its ± rests on the few points left
 * out: that is warned of, and the movement goes into the ±.
 *
 * @param polylineOf of each point the place of its polyline
 * @param again the same fit to some of the points, without rejection; how well that is known goes into the ± as well
 */
export function withoutFew(
  fit: Fit<Feature>,
  polylineOf: readonly (number | undefined)[],
  again: (select: Uint32Array) => Fit<Feature>,
): Fit<Feature> {
  const names = NAMES[fit.feature.kind];
  const { covariance, degreesOfFreedom } = fit.uncertainty;
  if (!names || fit.criterion !== 'least-squares' || degreesOfFreedom === 0) return fit;
  const factor = studentFactor(0.95, degreesOfFreedom);
  const m = names.length;
  const { at, axes }: Base = fit.uncertainty;
  let most: { piece: Piece; times: number; moves: readonly number[] } | undefined;
  const widest = new Array<number>(m).fill(0);
  for (const piece of piecesOf(fit, polylineOf)) {
    const out = new Set(piece.points);
    const select = fit.used.filter((i) => !out.has(i));
    const without = fitWithout(select, again);
    const moves = without ? moveOf(without.feature, { at, axes }, fit.feature) : names.map(() => Infinity);
    moves.forEach((by, p) => {
      const standard = Math.sqrt(covariance[p * (m + 1)]);
      const times = standard > 0 ? Math.abs(by) / (factor * standard) : 0;
      if (!(times > 1) || Math.abs(by) <= ROUNDING * Math.max(1, fit.uncertainty.reach)) return;
      const moved = Math.abs(by) / LEAST_FACTOR + Math.sqrt(without?.uncertainty.covariance[p * (m + 1)] ?? 0);
      widest[p] = Math.max(widest[p], Math.min(moved, MOST_MOVED * fit.uncertainty.reach));
      if (!most || times > most.times) most = { piece, times, moves };
    });
  }
  if (!most) return fit;
  const { piece, moves } = most;
  const by = new Map(widest.flatMap((standard, p) => (standard > 0 ? [[p, standard] as const] : [])));
  const size = ['radius', 'width', 'shortest radius'].find((name) => by.has(names.indexOf(name)));
  const p = size ? names.indexOf(size) : [...by.keys()][0];
  const isLength = !['direction', 'normal'].includes(names[p]);
  const moved = Number.isFinite(moves[p])
    ? `moves by ${isLength ? lengthText(short(Math.abs(moves[p]))) : `${short((Math.abs(moves[p]) * 180) / Math.PI)}°`}`
    : 'is no longer determined';
  const message =
    `${piece.what}, ${countText(piece.points.length)} of ${countText(fit.count)} points, decide${piece.points.length === 1 ? 's' : ''}: ` +
    `without them the ${names[p]} ${moved}, more than its ±, which holds that now. Look whether they belong to the ${fit.feature.kind}, ` +
    'and take in more of it.';
  return widened(fit, by, [{ code: 'few-points-decide', message } satisfies Warning]);
}

/** Of exact points nothing moves by more. */
const ROUNDING = 1e-9;
/** Coverage factors are no smaller. */
const LEAST_FACTOR = 1.9;
/** A parameter that is no longer determined is known to about the feature's size. */
const MOST_MOVED = 1;

const short = (value: number): number => Number(value.toPrecision(2));

/** Undefined where it is not determined without these points: then the fit refuses them, and its options are those it took already. */
function fitWithout(select: Uint32Array, again: (select: Uint32Array) => Fit<Feature>): Fit<Feature> | undefined {
  try {
    return again(select);
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}

function piecesOf(fit: Fit<Feature>, polylineOf: readonly (number | undefined)[]): Piece[] {
  const used = Array.from(fit.used);
  const byPolyline = new Map<number, number[]>();
  for (const i of used) {
    const polyline = polylineOf[i];
    if (polyline === undefined) continue;
    const own = byPolyline.get(polyline) ?? [];
    own.push(i);
    byPolyline.set(polyline, own);
  }
  const isFew = ({ points }: Piece): boolean => points.length <= FEW * used.length;
  const pieces = [...byPolyline]
    .map(([polyline, points]): Piece => ({ what: `Piece ${polyline + 1} of the section`, points }))
    .filter(isFew)
    .sort((a, b) => b.points.length - a.points.length)
    .slice(0, MOST_PIECES);
  if (used.length <= MOST && fit.feature.kind !== 'slot' && fit.feature.kind !== 'ellipse') {
    const long = Math.max(2, Math.round(ADJACENT * used.length));
    for (let from = 0; from < used.length; from += long)
      pieces.push({ what: 'Points next to each other', points: used.slice(from, from + long) });
  }
  return pieces.filter(isFew);
}

/** Of each point of a stretch the place of the polyline it is a point of; undefined for places in between. */
export function polylinesOf({ polylines }: Section, positions: Float64Array): (number | undefined)[] {
  const owners = new Map<string, number>();
  polylines.forEach(({ points }, polyline) => {
    for (let i = 0; i < points.length; i += 3) owners.set(`${points[i]} ${points[i + 1]} ${points[i + 2]}`, polyline);
  });
  return Array.from({ length: positions.length / 3 }, (_, i) =>
    owners.get(`${positions[3 * i]} ${positions[3 * i + 1]} ${positions[3 * i + 2]}`),
  );
}
