import { type Ellipse, type Fit, fitEllipse, fitSlot, type Plane, type Slot, seededRandom } from '@fettle/geom';
import { EigenvalueDecomposition, inverse, Matrix } from 'ml-matrix';
import { expect, test } from 'vitest';
import { contrast } from '../../packages/geom/src/fit/uncertainty/correlated-noise/contrast.js';
import { fieldOf, separations } from '../../packages/geom/src/fit/uncertainty/correlated-noise/field.js';
import { gatherPatches } from '../../packages/geom/src/fit/uncertainty/correlated-noise/patches.js';
import { KERNELS } from '../../packages/geom/src/noise/kernel-table.js';
import { ellipsePoint, type OutlinePoint, slotPoint } from './outline-cases.js';

const level: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
const sigma = 0.03;

interface Outline {
  readonly name: string;
  readonly at: (share: number) => OutlinePoint;
  fit(positions: Float64Array): Fit<Slot> | Fit<Ellipse>;
  /** Errors in the order of the parameters. */
  errors(fit: Fit<Slot> | Fit<Ellipse>): number[];
}

const turnOf = ([x, y]: readonly number[]): number =>
  Math.atan2(y!, x!) - Math.PI * Math.round(Math.atan2(y!, x!) / Math.PI);
const placed = { center: [0, 0, 0], normal: [0, 0, 1], direction: [1, 0, 0] } as const;
const slot = (length: number, width: number): Outline => ({
  name: `a slot of ${length} × ${width}`,
  at: (share) => slotPoint(length, width, share),
  fit: (positions) => fitSlot({ positions }, { plane: level, initial: { kind: 'slot', ...placed, length, width } }),
  errors({ feature: f }) {
    if (f.kind !== 'slot') throw new Error(f.kind);
    return [f.center[0], f.center[1], turnOf(f.direction), f.length - length, f.width - width];
  },
});
const ellipse = (major: number, minor: number): Outline => ({
  name: `an ellipse of ${major} × ${minor}`,
  at: (share) => ellipsePoint(major, minor, 2 * Math.PI * share),
  fit: (positions) =>
    fitEllipse({ positions }, { plane: level, initial: { kind: 'ellipse', ...placed, major, minor } }),
  errors({ feature: f }) {
    if (f.kind !== 'ellipse') throw new Error(f.kind);
    return [f.center[0], f.center[1], turnOf(f.direction), f.major - major, f.minor - minor];
  },
});

const pointsOf = (
  { at }: Outline,
  count: number,
  seed: number,
): { points: OutlinePoint[]; positions: Float64Array } => {
  const random = seededRandom(seed);
  const points = Array.from({ length: count }, (_, i) => at((i + random.next()) / count));
  const positions = Float64Array.from(
    points.flatMap(({ at: [x, y], normal: [nx, ny] }) => {
      const d = sigma * random.normal();
      return [x + d * nx, y + d * ny, 0];
    }),
  );
  return { points, positions };
};

/** σ·√diag (JᵀJ)⁻¹ at the true outline: JCGM 100, and any book on least squares. */
function whiteNoise(points: readonly OutlinePoint[]): number[] {
  const rows = new Matrix(points.map(({ row }) => [...row]));
  return inverse(rows.transpose().mmul(rows))
    .diagonal()
    .map((c) => sigma * Math.sqrt(c));
}

test.each([
  { outline: slot(30, 12), count: 800, trials: 300 },
  { outline: slot(30, 3), count: 800, trials: 60 },
  { outline: slot(30, 12), count: 16_000, trials: 12 },
  { outline: ellipse(15, 9), count: 800, trials: 300 },
  { outline: ellipse(15, 9), count: 16_000, trials: 12 },
])('white noise on $outline.name, $count points: ± by (JᵀJ)⁻¹σ² and by the spread', ({ outline, count, trials }) => {
  const errors: number[][] = [];
  const ratios: number[][] = [];
  for (let trial = 0; trial < trials; trial++) {
    const { points, positions } = pointsOf(outline, count, trial + 1);
    const fit = outline.fit(positions);
    errors.push(outline.errors(fit));
    const expected = whiteNoise(points);
    ratios.push(expected.map((e, p) => Math.sqrt(fit.uncertainty.covariance[6 * p]!) / e));
  }
  const usual = whiteNoise(pointsOf(outline, count, 1).points);
  for (let p = 0; p < 5; p++) {
    const of = ratios.map((r) => r[p]!).sort((a, b) => a - b);
    // Where the levels within disagree by chance the noise is told from some 60 means, to 9 %; where it looks alike over a length by
    // chance, that is allowed for.
    expect(of[0]).toBeGreaterThan(0.7);
    expect(of[Math.floor(0.98 * (trials - 1))]).toBeLessThan(1.5);
    expect(of[trials - 1]).toBeLessThan(2.5);
    expect(of[trials >> 1]).toBeGreaterThan(0.93);
    expect(of[trials >> 1]).toBeLessThan(1.15);
    if (trials < 100) continue;
    const spread = Math.sqrt(errors.reduce((sum, e) => sum + e[p]! ** 2, 0) / trials);
    // A standard deviation from 300 is known to 4 %.
    expect(Math.abs(spread / usual[p]! - 1)).toBeLessThan(0.13);
  }
});

test.each([slot(30, 12), slot(30, 3), ellipse(15, 9)])(
  'covariances of correlated noise are never negative: $name',
  (outline) => {
    for (const [count, seed] of [
      [800, 1],
      [16_000, 2],
    ] as const) {
      const { points, positions } = pointsOf(outline, count, seed);
      const patches = gatherPatches(
        {
          kind: outline.fit(positions).feature.kind,
          positions,
          residuals: Float64Array.from(points, ({ at, normal }, i) =>
            at.reduce((sum, c, k) => sum + (positions[3 * i + k]! - c) * normal[k]!, 0),
          ),
          parameters: 5,
          gradient: (i, out) => out.set(points[i]!.row),
          at: [0, 0, 0],
          axes: [
            [1, 0, 0],
            [0, 1, 0],
            [0, 0, 1],
          ],
        },
        64,
      );
      const reduced = contrast(patches);
      const apart = separations(patches);
      for (const kernel of KERNELS)
        for (const share of [0.16, 0.4, 1, 2, 4, 8]) {
          const { contrasts, covariance } = fieldOf(patches, reduced, apart, kernel, share * apart.spacing);
          const { n, diagonal, off } = contrasts;
          const whole = Matrix.diag(Array.from(diagonal));
          for (let i = 0; i + 1 < n; i++) {
            whole.set(i, i + 1, off[i]!);
            whole.set(i + 1, i, off[i]!);
          }
          for (const matrix of [
            whole,
            new Matrix([0, 1, 2, 3, 4].map((i) => Array.from(covariance.subarray(5 * i, 5 * i + 5)))),
          ]) {
            const values = new EigenvalueDecomposition(matrix, { assumeSymmetric: true }).realEigenvalues;
            expect(Math.min(...values)).toBeGreaterThan(-1e-12 * Math.max(...values));
          }
        }
    }
  },
);
