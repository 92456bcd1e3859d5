import { nthSmallest } from '../math/nth-smallest.js';
import { symmetricEigen } from '../math/symmetric-eigen.js';
import { cross, subtract, type Vec3 } from '../math/vec3.js';
import type { Way, Ways } from './freedom.js';
import type { Oriented } from './pair-features.js';
import { type Ground, type Pairs, pairsOf } from './pairing.js';
import { composed, type Rigid, smallMove, straightened } from './rigid.js';
import { everyFew } from './sparse.js';

export interface Fine {
  readonly motion: Rigid;
  readonly pairs: Pairs;
  /** Weight of each pair, 0 to 1. */
  readonly weights: Float64Array;
  /** Robust standard deviation of the distances, mm. */
  readonly sigma: number;
  /** Whether the gradient came to zero: the last step moved nothing by more than a millionth of sigma. */
  readonly converged: boolean;
  readonly rounds: number;
}

export interface FineOptions {
  /** How far off the start may leave a point that lies on the ground, mm. */
  readonly widest: number;
  readonly faces: boolean;
  /** Ways not to move along, because nothing holds them. */
  readonly free?: readonly FreeWay[];
}

/** A way, and the middle and reach it is told by. */
export interface FreeWay extends Ways {
  readonly way: Way;
}

/** Tukey's biweight lets go at so many standard deviations: 95 % efficient where the noise is normal (Huber, Robust Statistics). */
export const WIDTH = 4.685;
const MOST_ROUNDS = 80;
/** Points the width of the weights is found on. */
const FEW = 4_000;
/** A direction that holds less than this share of what the best one does is not moved along. */
const LOOSE = 1e-5;

/**
 * Lays points on a surface: least squares of their distances along the mean of both normals (S. Rusinkiewicz, "A Symmetric Objective
 * Function for ICP", ACM Trans. Graph. 38 (2019)), weighed by Tukey's biweight, which leaves out what only one of the two saw. First
 * the width of the weights shrinks to what the distances' own spread asks for; then it stays, and rounds go on until the gradient is
 * zero.
 */
export function fineStep(
  points: Oriented,
  ground: Ground,
  start: Rigid,
  { widest, faces, free = [] }: FineOptions,
): Fine {
  const few = everyFew(points, FEW);
  let motion = start;
  let sigma = widest / 2;
  const floor = 1e-7 * ground.patches.side;
  for (let round = 0; round < 12; round++) {
    const pairs = pairsOf(few, ground, motion, reachOf(sigma, ground), faces);
    const weights = weightsOf(pairs, sigma, ground);
    const step = stepOf(pairs, weights, free);
    if (!step) break;
    motion = straightened(composed(step.motion, motion));
    sigma = Math.max(floor, Math.min(sigma, Math.max(spreadOf(pairs, sigma), 0.35 * sigma)));
  }
  let pairs = pairsOf(points, ground, motion, reachOf(sigma, ground), faces);
  sigma = Math.max(floor, Math.min(sigma, spreadOf(pairs, sigma)));
  let weights = weightsOf(pairs, sigma, ground);
  let converged = false;
  let rounds = 0;
  while (!converged && rounds < MOST_ROUNDS) {
    const step = stepOf(pairs, weights, free);
    if (!step) break;
    rounds++;
    motion = straightened(composed(step.motion, motion));
    converged = step.moved < 1e-6 * sigma + 1e-12 * ground.patches.side;
    pairs = pairsOf(points, ground, motion, reachOf(sigma, ground), faces);
    weights = weightsOf(pairs, sigma, ground);
  }
  return { motion, pairs, weights, sigma, converged, rounds };
}

/** mm within which pairs have any weight. */
const reachOf = (sigma: number, { beside }: Ground): number => Math.hypot(WIDTH * sigma, WIDTH * sigma + beside);

export function weightsOf({ count, off, aside }: Pairs, sigma: number, { beside }: Ground): Float64Array {
  const width = WIDTH * sigma;
  const weights = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const u = off[i] / width;
    const v = aside[i] / (width + beside);
    // Beside the end of the ground the nearest place is its edge: what stands over nothing has no weight.
    weights[i] = u * u < 1 && v * v < 1 ? (1 - u * u) ** 2 * (1 - v * v) ** 2 : 0;
  }
  return weights;
}

/** By the median of the distances, as the standard deviation of a normal distribution has it. */
function spreadOf({ count, off }: Pairs, sigma: number): number {
  const size = new Float64Array(count);
  let n = 0;
  for (let i = 0; i < count; i++) if (Math.abs(off[i]) < WIDTH * sigma) size[n++] = Math.abs(off[i]);
  return n === 0 ? sigma : 1.4826 * nthSmallest(size.subarray(0, n), n >> 1);
}

/** Derivatives of a pair's distance by shift and by turn about `c`. */
export function derivatives({ place, normal }: Pairs, i: number, c: Vec3, out: Float64Array): void {
  const x = place[3 * i] - c[0];
  const y = place[3 * i + 1] - c[1];
  const z = place[3 * i + 2] - c[2];
  const nx = normal[3 * i];
  const ny = normal[3 * i + 1];
  const nz = normal[3 * i + 2];
  out[0] = nx;
  out[1] = ny;
  out[2] = nz;
  out[3] = y * nz - z * ny;
  out[4] = z * nx - x * nz;
  out[5] = x * ny - y * nx;
}

/** Middle of the pairs, and the root mean square of their distance from it, mm. */
export function middleOfPairs({ count, place }: Pairs, weights: Float64Array): { center: Vec3; reach: number } {
  let [x, y, z, w] = [0, 0, 0, 0];
  for (let i = 0; i < count; i++) {
    w += weights[i];
    x += weights[i] * place[3 * i];
    y += weights[i] * place[3 * i + 1];
    z += weights[i] * place[3 * i + 2];
  }
  const center: Vec3 = [x / w, y / w, z / w];
  let sum = 0;
  for (let i = 0; i < count; i++)
    sum +=
      weights[i] *
      ((place[3 * i] - center[0]) ** 2 + (place[3 * i + 1] - center[1]) ** 2 + (place[3 * i + 2] - center[2]) ** 2);
  return { center, reach: Math.sqrt(sum / w) };
}

/** One step of Gauss and Newton; undefined where too few pairs are left. */
export function stepOf(
  pairs: Pairs,
  weights: Float64Array,
  free: readonly FreeWay[],
): { motion: Rigid; moved: number } | undefined {
  const { center, reach } = middleOfPairs(pairs, weights);
  if (!(reach > 0)) return undefined;
  const matrix = new Float64Array(36);
  const right = new Float64Array(6);
  const j = new Float64Array(6);
  let used = 0;
  for (let i = 0; i < pairs.count; i++) {
    const w = weights[i];
    if (w === 0) continue;
    used++;
    derivatives(pairs, i, center, j);
    for (let a = 3; a < 6; a++) j[a] /= reach;
    for (let a = 0; a < 6; a++) {
      right[a] -= w * j[a] * pairs.off[i];
      for (let b = 0; b < 6; b++) matrix[6 * a + b] += w * j[a] * j[b];
    }
  }
  if (used < 6) return undefined;
  for (const way of free) barred(matrix, right, way, center, reach);
  const { values, vectors } = symmetricEigen(matrix, 6);
  const step = new Float64Array(6);
  for (let k = 0; k < 6; k++) {
    if (!(values[k] > LOOSE * values[5])) continue;
    const along = vectors[k].reduce((sum, v, a) => sum + v * right[a], 0) / values[k];
    for (let a = 0; a < 6; a++) step[a] += along * vectors[k][a];
  }
  const moved = Math.hypot(...step);
  return {
    motion: smallMove([step[0], step[1], step[2]], [step[3] / reach, step[4] / reach, step[5] / reach], center),
    moved,
  };
}

/** Takes a way out of the normal equations, so that no step goes along it. */
function barred(
  matrix: Float64Array,
  right: Float64Array,
  { way, center: from, reach: its }: FreeWay,
  center: Vec3,
  reach: number,
): void {
  // The same motion about another middle: the shift there is the shift here and what the turn adds.
  const turn: Vec3 = [way[3] / its, way[4] / its, way[5] / its];
  const added = cross(turn, subtract(center, from));
  const w = [
    way[0] + added[0],
    way[1] + added[1],
    way[2] + added[2],
    turn[0] * reach,
    turn[1] * reach,
    turn[2] * reach,
  ];
  const long = Math.hypot(...w);
  const u = w.map((x) => x / long);
  const project = (read: (k: number) => number, write: (k: number, value: number) => void): void => {
    const along = u.reduce((sum, x, k) => sum + x * read(k), 0);
    for (let k = 0; k < 6; k++) write(k, read(k) - along * u[k]);
  };
  const into = (array: Float64Array, at: (k: number) => number): void =>
    project(
      (k) => array[at(k)],
      (k, value) => {
        array[at(k)] = value;
      },
    );
  into(right, (k) => k);
  for (let a = 0; a < 6; a++) into(matrix, (k) => 6 * a + k);
  for (let b = 0; b < 6; b++) into(matrix, (k) => 6 * k + b);
}
