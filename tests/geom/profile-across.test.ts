import { inverse, Matrix } from 'ml-matrix';
import { expect, test } from 'vitest';
import { chainCovariance } from '../../packages/geom/src/section/outline/across.js';
import { fitChain } from '../../packages/geom/src/section/outline/chain.js';
import { type Constraint, disagreement, slopesOf } from '../../packages/geom/src/section/outline/constraint.js';
import { outlineOf, withWave } from '../../packages/geom/src/section/outline/places.js';
import { type FlatShape, movedShape } from '../../packages/geom/src/section/outline/shape.js';
import { roundedRectangle, sectionOf } from './outlines.js';

test('covariance of tangent pieces in waves is that of the estimator, by matrices as large as the outline', () => {
  const pieces = roundedRectangle(60, 40, 8);
  const plain = outlineOf(sectionOf(pieces, { noise: 0.02, seed: 5, spacing: 1 }).polylines[0]);
  const [ratio, length] = [5, 3];
  const outline = withWave(plain, 0.02, ratio, length);
  let way = 0;
  const stretches = pieces.map(([long], k) => {
    const from = Math.round(way) + 1;
    way += long;
    return { from, to: Math.round(way) - 1, shape: k % 2 ? ('arc' as const) : ('line' as const) };
  });
  const constraints = stretches.map((_, k): Constraint => ({ kind: 'tangent', pieces: [k, (k + 1) % 8] }));
  const { shapes } = fitChain(outline, stretches, constraints)!;
  const { values, starts } = chainCovariance(outline, stretches, shapes, constraints)!;

  const along = [0];
  for (const gap of outline.gaps) along.push(along.at(-1)! + gap);
  const around = along.at(-1)!;
  // Matérn's covariance of order 5/2 as Rasmussen & Williams give it (eq. 4.17).
  const matern = (d: number) => {
    const a = (Math.sqrt(5) * d) / length;
    return ratio ** 2 * (1 + a + (a * a) / 3) * Math.exp(-a);
  };
  const points = stretches.flatMap(({ from, to }, piece) =>
    Array.from({ length: to - from }, (_, i) => ({ piece, p: from + i })),
  );
  const [count, size] = [points.length, starts.at(-1)!];
  const [noise, within, slopes] = [new Matrix(count, count), new Matrix(count, count), new Matrix(count, size)];
  points.forEach((a, i) => {
    points.forEach((b, j) => {
      const d = Math.abs(along[a.p]! - along[b.p]!);
      const isSame = a.piece === b.piece;
      const white = i === j ? 1 / outline.weights[a.p]! : 0;
      noise.set(i, j, matern(d) + white + (isSame ? 0 : matern(around - d)));
      if (isSame) within.set(i, j, noise.get(i, j));
    });
    const [x, y] = [outline.flat[2 * a.p]!, outline.flat[2 * a.p + 1]!];
    const row = slopesAt(shapes[a.piece]!, x, y);
    for (const [k, s] of row.entries()) slopes.set(i, starts[a.piece]! + k, s);
  });
  const weighted = slopes.transpose().mmul(inverse(within));
  const own = inverse(weighted.mmul(slopes));
  const conditions = new Matrix(constraints.length, size);
  constraints.forEach((c, r) => {
    for (const { piece, rows } of slopesOf(c, shapes))
      for (const [k, s] of rows[0]!.entries()) conditions.set(r, starts[piece]! + k, s);
  });
  const leaning = own.mmul(conditions.transpose());
  const held = Matrix.eye(size).sub(leaning.mmul(inverse(conditions.mmul(leaning))).mmul(conditions));
  const estimator = held.mmul(own).mmul(weighted);
  const expected = estimator.mmul(noise).mmul(estimator.transpose());
  for (let i = 0; i < size; i++)
    for (let j = 0; j < size; j++) {
      const scale = Math.sqrt(expected.get(i, i) * expected.get(j, j));
      expect(Math.abs(values[i * size + j]! - expected.get(i, j)) / scale).toBeLessThan(1e-5);
    }
  // Not what the pieces would have if the waves began anew at each break.
  const radius = starts[1]! + 2;
  expect(shapes[1]!.covariance[8]! / expected.get(radius, radius)).toBeGreaterThan(1.1);
});

/** Derivatives of minus the distance. */
function slopesAt(shape: FlatShape, x: number, y: number): number[] {
  if (shape.kind === 'line') {
    const [dx, dy] = shape.direction;
    return [1, dx * (x - shape.point[0]) + dy * (y - shape.point[1])];
  }
  const far = Math.hypot(x - shape.center[0], y - shape.center[1]);
  return [(x - shape.center[0]) / far, (y - shape.center[1]) / far, 1];
}

const none = new Float64Array(9);
const slanted: FlatShape = { kind: 'line', point: [1, 2], direction: [0.8, 0.6], covariance: none };
const circle = (x: number, y: number, radius: number): FlatShape => ({
  kind: 'arc',
  center: [x, y],
  radius,
  covariance: none,
});

test.each([
  ['a line and a circle on its left', slanted, circle(-2, 5, 3.1)],
  ['a circle on its right and a line', circle(7, 1, 3.2), slanted],
  ['a circle in another', circle(1, 1, 2), circle(2, 3, 4.3)],
  ['a circle about another', circle(2, 3, 4.3), circle(1, 1, 2)],
  ['circles beside each other', circle(0, 0, 2), circle(4, 3, 2.9)],
])('slopes of tangency are its differences: %s', (_, a, b) => {
  const constraint: Constraint = { kind: 'tangent', pieces: [0, 1] };
  const step = 1e-6;
  slopesOf(constraint, [a, b]).forEach(({ piece, rows }, k) => {
    expect(piece).toBe(k);
    rows[0]!.forEach((slope, p) => {
      const gap = (by: number) => {
        const delta = new Float64Array(3);
        delta[p] = by;
        return disagreement(
          constraint,
          [a, b].map((s, i) => (i === k ? movedShape(s, delta) : s)),
        )[0]!;
      };
      expect(slope).toBeCloseTo((gap(step) - gap(-step)) / (2 * step), 7);
    });
  });
});
