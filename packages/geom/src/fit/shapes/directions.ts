import {
  addScaled,
  angleBetween,
  length,
  negate,
  normalize,
  perpendiculars,
  subtract,
  type Vec3,
} from '../../math/vec3.js';
import { fewPoints, normalThrough } from '../solve/few.js';
import type { Sample } from '../solve/shape.js';

/** Directions tried over the half sphere: about 9° apart. */
const GRID = 220;
/** Two starts nearer than this lie in one basin. */
const APART = (12 * Math.PI) / 180;
const FINEST = 0.002;
/** Pairs and triples of points that lend a direction. */
const PAIRS = 40;

const golden = Math.PI * (3 - Math.sqrt(5));

/** Evenly spread over the half sphere z ≥ 0 (Fibonacci lattice). */
const evenDirections: readonly Vec3[] = Array.from({ length: GRID }, (_, i) => {
  const z = 1 - (i + 0.5) / GRID;
  const r = Math.sqrt(1 - z * z);
  return [r * Math.cos(i * golden), r * Math.sin(i * golden), z];
});

/**
 * The axis directions with the least scores: `seeds` and an even grid are tried, the best of them that lie apart improved by
 * a shrinking pattern, and the best `most` returned, best first. A direction and its opposite count as one.
 */
export function bestDirections(score: (w: Vec3) => number, seeds: readonly Vec3[], most: number): Vec3[] {
  const tried = [...seeds, ...evenDirections].map((w) => ({ w, score: score(w) }));
  const apart: { w: Vec3; score: number }[] = [];
  for (const one of tried.sort((a, b) => a.score - b.score)) {
    if (apart.length === 2 * most) break;
    if (apart.every(({ w }) => unsignedAngle(w, one.w) > APART)) apart.push(one);
  }
  return apart
    .map((one) => descend(score, one))
    .sort((a, b) => a.score - b.score)
    .slice(0, most)
    .map(({ w }) => w);
}

/**
 * Axis directions one of which is near that of a cylinder or cone among the points, even where many points lie elsewhere: an even
 * grid, the principal axes, the ways from point to point (along a needle) and across three (of a disc).
 */
export function* likelyDirections({ set, spread, random }: Sample): Iterable<Vec3> {
  yield* spread.axes;
  yield* evenDirections;
  for (let i = 0; i < PAIRS; i++) {
    const few = fewPoints(set, 3, spread.centroid, random);
    const along = subtract(few[1], few[0]);
    if (length(along) > 0) yield normalize(along);
    const across = normalThrough(few);
    if (across) yield across;
  }
}

/** Step to the best of four neighbors while one is better, else halve the step. */
function descend(score: (w: Vec3) => number, start: { w: Vec3; score: number }): { w: Vec3; score: number } {
  let best = start;
  for (let step = 0.08; step > FINEST; ) {
    const [u, v] = perpendiculars(best.w);
    let next = best;
    for (const toward of [u, negate(u), v, negate(v)]) {
      const w = normalize(addScaled(best.w, toward, step));
      const one = { w, score: score(w) };
      if (one.score < next.score) next = one;
    }
    if (next === best) step /= 2;
    else best = next;
  }
  return best;
}

const unsignedAngle = (a: Vec3, b: Vec3): number => {
  const angle = angleBetween(a, b);
  return Math.min(angle, Math.PI - angle);
};
