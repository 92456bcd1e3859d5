import { along, apart, held, type Way, type Ways, waysAbout } from './freedom.js';
import { type Oriented, PairTable } from './pair-features.js';
import { drawnCloser, type Match, matched, scaleBetween } from './patch-match.js';
import type { Patches } from './patches.js';
import { type Rare, rarest, withRarity } from './rarity.js';
import { carried, composed, inverse, type Rigid } from './rigid.js';
import { everyFew, sparse, sparseSide } from './sparse.js';

/** Poses in which a scan lies on a reference. */
export interface Poses {
  /** Best first; no two alike but for a move along the free ways. */
  readonly found: readonly Match[];
  /** Ways along which the best pose may be moved and lies as well: a plane slides, a cylinder turns. */
  readonly free: readonly Way[];
  readonly ways: Ways;
  /** How far off a piece may be to lie on another, mm. */
  readonly tolerance: number;
}

/** Pieces of the reference of which all pairs are looked at, and places of the scan that vote. */
const SPARSE = 900;
const VOTERS = 160;
/** Poses drawn closer. */
const TRIED = 48;
/** A pose is a rival if it has this share of what the best one has in common. */
export const RIVAL = 0.85;
/** A way holds little if a mm along it moves the surface by less than this, mean square. */
const LITTLE = 0.02;
const MOST_RIVALS = 64;

/** The poses of a scan on a reference that explain most of it, from no start at all. */
export function posesOf(scan: Patches, reference: Patches): Poses {
  const match = matcher(scan, reference);
  const { few, faces, coarse } = match;
  const table = new PairTable(sparse(reference, coarse), coarse);
  const hypotheses = table.hypotheses(few, rarest(few, VOTERS), faces ? [1] : [1, -1]);
  const voters = withRarity(everyFew(few, 300), faces);
  const rough = hypotheses
    .map(({ motion }) =>
      matched(voters, reference, motion, { tolerance: coarse / 2, within: coarse, faces, cosine: 0.75 }),
    )
    .sort((a, b) => b.share - a.share);
  const near = waysOf(scan, rough[0]?.motion);
  const tried = distinct(rough, coarse, near, [], TRIED).map(({ motion }) => match.drawn(motion, coarse));
  return best(tried, scan, match);
}

/** The poses among those given, drawn closer, and what follows from them. */
export function best(from: readonly Match[], scan: Patches, match: Matcher): Poses {
  const { tolerance, side } = match;
  const sorted = [...from].sort((a, b) => b.share - a.share);
  if (sorted.length === 0) return { found: [], free: [], ways: waysOf(scan, undefined), tolerance };
  const ways = waysOf(scan, sorted[0].motion);
  const first = match.polished(sorted[0].motion);
  const free = freeWays(first, scan, ways, match);
  const polished = distinct(sorted, 2 * side, ways, free, TRIED)
    .filter(({ share }) => share > 0.5 * sorted[0].share)
    .map(({ motion }) => match.polished(motion));
  const found = distinct(
    [first, ...polished].sort((a, b) => b.share - a.share),
    2 * side,
    ways,
    free,
    TRIED,
  );
  return { found: closed(found, ways, free, match), free, ways, tolerance };
}

export interface Matcher {
  readonly few: Rare;
  readonly faces: boolean;
  readonly coarse: number;
  readonly side: number;
  readonly tolerance: number;
  /** Drawn closer from a pose off by up to `widest` mm. */
  drawn(from: Rigid, widest: number): Match;
  polished(from: Rigid): Match;
  judged(motion: Rigid): Match;
  /** The scale by which the scan would lie closer in a pose. */
  scaleOf(motion: Rigid, width: number): number;
  /** The pose of the scan made larger by `scale`, its middle where it was. */
  resized(motion: Rigid, scale: number): Rigid;
}

export function matcher(scan: Patches, reference: Patches): Matcher {
  const faces = scan.faces && reference.faces;
  const coarse = sparseSide(reference, SPARSE);
  const side = reference.side;
  const few = withRarity(everyFew(sparse(scan, coarse), 2 * SPARSE), faces);
  const many = withRarity(everyFew(scan, 2500), faces);
  const tolerance = Math.max(4 * Math.hypot(scan.thickness, reference.thickness), 0.06 * side);
  const judged = (motion: Rigid) =>
    matched(many, reference, motion, { tolerance, within: 1.2 * side, faces, cosine: 0.9 });
  return {
    few,
    faces,
    coarse,
    side,
    tolerance,
    drawn: (from, widest) =>
      judged(drawnCloser(few, reference, from, { widest, narrowest: side / 2, rounds: 8, faces })),
    polished: (from) =>
      judged(drawnCloser(many, reference, from, { widest: side / 2, narrowest: 1.5 * tolerance, rounds: 8, faces })),
    judged,
    scaleOf: (motion, width) => scaleBetween(many, reference, motion, { width, faces }),
    resized: ({ r, t }, scale) => ({ r, t: t.map((x, k) => resizedShift(r, x, k, few, scale)) }),
  };
}

/** t − (s − 1)·R·c: the middle c of the scan, now at s·c, goes where it went. */
function resizedShift(r: Float64Array, x: number, k: number, { size, middle }: Oriented, scale: number): number {
  const { center } = waysAbout(size, middle);
  return x - (scale - 1) * (r[3 * k] * center[0] + r[3 * k + 1] * center[1] + r[3 * k + 2] * center[2]);
}

/** Center and reach of a scan where a pose lays it. */
export function waysOf({ size, middle }: Oriented, motion: Rigid | undefined): Ways {
  const { center, reach } = waysAbout(size, middle);
  return { center: motion ? carried(motion, center) : center, reach };
}

function distinct(sorted: readonly Match[], least: number, ways: Ways, free: readonly Way[], most: number): Match[] {
  const kept: Match[] = [];
  for (const one of sorted) {
    if (kept.length === most) break;
    if (kept.every(({ motion }) => apart(one.motion, motion, ways, free) > least)) kept.push(one);
  }
  return kept;
}

/** Ways that hold little, and along which the match in fact stays as good. */
function freeWays({ motion, share }: Match, scan: Patches, ways: Ways, match: Matcher): Way[] {
  const { values, ways: all } = heldIn(scan, motion, ways);
  return all.filter(
    (way, k) =>
      values[k] < LITTLE &&
      [-1.5, 1.5].every(
        (steps) => match.judged(composed(along(way, steps * match.side, ways), motion)).share > 0.93 * share,
      ),
  );
}

function heldIn({ size, middle, normal }: Oriented, { r, t }: Rigid, ways: Ways) {
  const place = new Float64Array(3 * size);
  const facing = new Float64Array(3 * size);
  for (let i = 0; i < 3 * size; i += 3)
    for (let k = 0; k < 3; k++) {
      place[i + k] = r[3 * k] * middle[i] + r[3 * k + 1] * middle[i + 1] + r[3 * k + 2] * middle[i + 2] + t[k];
      facing[i + k] = r[3 * k] * normal[i] + r[3 * k + 1] * normal[i + 1] + r[3 * k + 2] * normal[i + 2];
    }
  return held(ways, size, place, facing);
}

/**
 * The rivals of the best pose, and those that follow from them: what turns a symmetric body onto itself forms a group, so that two
 * such turns, one after the other, are a third. Then all other poses.
 */
function closed(found: readonly Match[], ways: Ways, free: readonly Way[], match: Matcher): Match[] {
  const [first, ...others] = found;
  const rivals = [first, ...others.filter(({ share }) => share >= RIVAL * first.share)];
  const rest = others.filter(({ share }) => share < RIVAL * first.share);
  const back = inverse(first.motion);
  for (let i = 1; i < rivals.length; i++)
    for (let j = 1; j <= i; j++)
      for (const [a, b] of i === j
        ? [[i, i]]
        : [
            [i, j],
            [j, i],
          ]) {
        if (rivals.length >= MOST_RIVALS) break;
        const motion = composed(composed(rivals[a].motion, back), rivals[b].motion);
        const isKnown = (near: number) => (one: Match) => apart(motion, one.motion, ways, free) < near;
        if (rivals.some(isKnown(2 * match.side))) continue;
        const one = match.polished(motion);
        if (one.share < RIVAL * first.share) continue;
        if (rivals.every((known) => apart(one.motion, known.motion, ways, free) > 2 * match.side)) rivals.push(one);
      }
  return [...rivals, ...rest].sort((a, b) => b.share - a.share);
}
