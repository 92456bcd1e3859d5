import { atLeast } from '../../math/at-least.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import type { Vec3 } from '../../math/vec3.js';
import { correlationOf } from '../../noise/mixture-kernel.js';
import { noiseNear } from '../../noise/noise-near.js';
import type { NoiseModel, ScanNoise } from '../../noise/scan-noise.js';
import type { Section } from '../section.js';
import { held } from './across.js';
import { innerPart } from './breaks.js';
import type { Join } from './join.js';
import type { Profile, ProfilePiece } from './pieces.js';
import { type Outline, outlineOf } from './places.js';
import { type FlatShape, freedoms } from './shape.js';

/** Points that pairs are made of, at most: of all pieces together. */
const MOST_POINTS = 900;
/**
 * Crossings with the edges of a mesh lie between two points each, and share them with their neighbors: over a row of triangles the
 * points' own noise weighs 2·(1 − 2t + 2t²) times as much in a mean as if each crossing had its own, 4/3 over all places t of the cut.
 */
const SHARED_POINTS = 4 / 3;

/**
 * A profile whose uncertainties allow for the scan's noise. The outline's own residuals show what is alike over lengths well below a
 * piece's; with longer noise a piece goes along. The fit of the chain is carried through the scan's covariance of the points, its
 * constraints with it; no freedom's standard uncertainty is less than that gives.
 */
export function withScanNoise(profile: Profile, section: Section, index: number, noise: ScanNoise): Profile {
  const polyline = section.polylines[index];
  const { center, reach } = extentOf(polyline.points);
  const near = noiseNear(noise, center, reach);
  const least = near && chainUnder(profile, outlineOf(polyline), near);
  if (!least) return profile;
  const grown = profile.pieces.map((piece, k) => grownPiece(piece, least[k]));
  if (grown.every(({ growth }) => growth === 1)) return profile;
  const count = grown.length;
  return Object.freeze({
    ...profile,
    pieces: grown.map(({ piece }) => piece),
    joins: profile.joins.map((join, k) => grownJoin(join, Math.max(grown[k].growth, grown[(k + 1) % count].growth))),
  });
}

function grownPiece(
  piece: ProfilePiece,
  least: Float64Array,
): { readonly piece: ProfilePiece; readonly growth: number } {
  const { shape } = piece;
  const m = freedoms(shape);
  const covariance = atLeast(shape.covariance, least);
  let growth = 1;
  for (let e = 0; e < m * m; e += m + 1)
    if (shape.covariance[e] > 0) growth = Math.max(growth, Math.sqrt(covariance[e] / shape.covariance[e]));
  return { piece: { ...piece, shape: { ...shape, covariance } } as ProfilePiece, growth };
}

function grownJoin(join: Join, growth: number): Join {
  const turnUncertainty = join.turnUncertainty * growth;
  if (join.kind === 'gap' || !join.positionCovariance) return { ...join, turnUncertainty };
  const [xx, xy, yy] = join.positionCovariance.map((c) => c * growth * growth);
  return {
    ...join,
    positionUncertainty: join.positionUncertainty * growth,
    positionCovariance: [xx, xy, yy],
    turnUncertainty,
  };
}

/** A point of a piece, and how the piece's freedoms follow its error. */
interface Pull {
  readonly piece: number;
  readonly x: number;
  readonly y: number;
  readonly by: Float64Array;
}

/** Covariance of each piece's freedoms under the noise; undefined where a piece's points determine no shape. */
function chainUnder({ pieces, constraints }: Profile, outline: Outline, noise: NoiseModel): Float64Array[] | undefined {
  const shapes = pieces.map(({ shape }) => shape);
  const starts = [0];
  for (const shape of shapes) starts.push(starts[starts.length - 1] + freedoms(shape));
  const size = starts[starts.length - 1];
  const inverse = new Float64Array(size * size);
  const free = new Float64Array(size * size);
  const n = outline.weights.length;
  const stretches = pieces.map(({ from, to, kind }) => innerPart({ from, to, shape: kind }));
  const total = stretches.reduce((sum, { from, to }) => sum + to - from, 0);
  const every = Math.max(1, total / MOST_POINTS);
  const pulls: Pull[] = [];
  for (const [k, { from, to }] of stretches.entries()) {
    const m = freedoms(shapes[k]);
    const own = scaledCholesky(normalOf(shapes[k], outline, from, to), m)?.inverse();
    if (!own) return undefined;
    const slopes = new Float64Array(m);
    let squares = 0;
    for (let p = from; p < to; p++) squares += outline.weights[p % n] ** 2 / (to - from);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) {
        const e = (starts[k] + i) * size + starts[k] + j;
        inverse[e] = own[i * m + j];
        free[e] = own[i * m + j] * noise.white * SHARED_POINTS * squares;
      }
    const count = Math.max(m, Math.round((to - from) / every));
    for (let c = 0; c < count; c++) {
      const q = (from + Math.floor(((c + 0.5) * (to - from)) / count)) % n;
      const [x, y] = [outline.flat[2 * q], outline.flat[2 * q + 1]];
      fillSlopes(shapes[k], x, y, slopes);
      const weight = (outline.weights[q] * (to - from)) / count;
      const by = Float64Array.from({ length: m }, (_, i) =>
        slopes.reduce((sum, slope, j) => sum + own[i * m + j] * slope * weight, 0),
      );
      pulls.push({ piece: k, x, y, by });
    }
  }
  addShared(free, size, starts, pulls, noise);
  const all = held(free, inverse, size, starts, shapes, constraints);
  return shapes.map((shape, k) => {
    const m = freedoms(shape);
    return Float64Array.from(
      { length: m * m },
      (_, e) => all[(starts[k] + Math.floor(e / m)) * size + starts[k] + (e % m)],
    );
  });
}

/** Adds what neighbors share, over all pairs of points. */
function addShared(
  free: Float64Array,
  size: number,
  starts: readonly number[],
  pulls: readonly Pull[],
  noise: NoiseModel,
): void {
  const alike = correlationOf(noise.terms);
  for (let p = 0; p < pulls.length; p++) {
    for (let q = 0; q <= p; q++) {
      const [a, b] = [pulls[p], pulls[q]];
      const k = alike(Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2));
      if (k === 0) continue;
      for (let i = 0; i < a.by.length; i++)
        for (let j = 0; j < b.by.length; j++) {
          const e = (starts[a.piece] + i) * size + starts[b.piece] + j;
          const f = (starts[b.piece] + j) * size + starts[a.piece] + i;
          const add = k * a.by[i] * b.by[j];
          free[e] += add;
          if (p !== q) free[f] += add;
        }
    }
  }
}

function normalOf(shape: FlatShape, { flat, weights }: Outline, from: number, to: number): Float64Array {
  const n = weights.length;
  const m = freedoms(shape);
  const normal = new Float64Array(m * m);
  const slopes = new Float64Array(m);
  for (let p = from; p < to; p++) {
    const q = p % n;
    fillSlopes(shape, flat[2 * q], flat[2 * q + 1], slopes);
    for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) normal[a * m + b] += weights[q] * slopes[a] * slopes[b];
  }
  return normal;
}

/** How the distance of a point changes with the shape's freedoms. */
function fillSlopes(shape: FlatShape, x: number, y: number, out: Float64Array): void {
  if (shape.kind === 'line') {
    out[0] = 1;
    out[1] = shape.direction[0] * (x - shape.point[0]) + shape.direction[1] * (y - shape.point[1]);
    return;
  }
  const dx = x - shape.center[0];
  const dy = y - shape.center[1];
  const far = Math.hypot(dx, dy) || 1;
  out[0] = dx / far;
  out[1] = dy / far;
  out[2] = 1;
}

function extentOf(points: Float64Array): { readonly center: Vec3; readonly reach: number } {
  const n = points.length / 3;
  const sum = [0, 0, 0];
  for (let i = 0; i < points.length; i++) sum[i % 3] += points[i] / n;
  let reach = 0;
  for (let i = 0; i < points.length; i += 3)
    reach = Math.max(reach, Math.hypot(points[i] - sum[0], points[i + 1] - sum[1], points[i + 2] - sum[2]));
  return { center: [sum[0], sum[1], sum[2]], reach };
}
