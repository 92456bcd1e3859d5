import {
  checkPlan,
  createScan,
  expanded,
  fitCircle,
  nonNegativeLeastSquares,
  runPlan,
  type ScanNoise,
  scanNoise,
  seededRandom,
} from '@fettle/geom';
import { jobSheetTable } from '@fettle/io';
import { describe, expect, test } from 'vitest';
import { part } from './plan-part.js';
import { circlePiece, cylinderPiece, kernels, type Noise, planePiece, scansOf } from './uncertainty-noise.js';

const SIDE = 60;
const face = planePiece(SIDE, 100);

/** A face of 60 × 60 mm with points 0.6 mm apart; the simulation of a hole beside a patch that the covariance is judged by. */
const faceWith = (noise: Noise, seed: number) =>
  createScan({ name: 'face.ply', positions: scansOf(face, noise, seededRandom(seed))() });

const noiseOf = (length: number, correlated = 0.03, white = 0.02): Noise => ({
  kernel: 'gaussian',
  length: length / SIDE,
  correlated,
  white,
});

/** Half the mean squared difference of two points' errors, mm², as the model has it. */
const half = ({ model }: ScanNoise, distance: number): number =>
  model!.terms.reduce((sum, { kernel, length, variance }) => {
    const name = kernel === 'matern-3/2' ? 'Matérn 3/2' : kernel;
    return sum + variance * (1 - kernels[name](distance / length));
  }, model!.white);

describe('the noise of a scan, measured on its large surfaces', () => {
  test.each([0.6, 1, 2, 4])('what neighbors share over %d mm is found again', (length) => {
    // The variogram the noise was made with, the mean of six scans: one face holds few pieces of long noise.
    const found = Array.from({ length: 6 }, (_, k) => scanNoise(faceWith(noiseOf(length), 10 + k)));
    for (const distance of [0.5 * length, length, 2 * length]) {
      const truth = 0.02 ** 2 + 0.03 ** 2 * (1 - Math.exp(-((distance / length) ** 2) / 2));
      const mean = found.reduce((sum, noise) => sum + half(noise, distance) / found.length, 0);
      expect(mean / truth).toBeGreaterThan(0.8);
      expect(mean / truth).toBeLessThan(1.25);
    }
  });

  test('a hole in the face and what stands beside it are no noise of the face', () => {
    // White noise of 0.02 mm; the rim of the hole's wall is in the cells of the face it is cut into.
    for (let seed = 1; seed <= 6; seed++) {
      const { model } = scanNoise(part({ noise: 0.02, step: 1, seed }).scan);
      const all = model!.white + model!.terms.reduce((sum, { variance }) => sum + variance, 0);
      expect(Math.sqrt(all)).toBeGreaterThan(0.017);
      expect(Math.sqrt(all)).toBeLessThan(0.0225);
    }
  });

  test('white noise is found white: what is shared comes to less than a sixth of it', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { model } = scanNoise(faceWith({ kernel: 'gaussian', length: 0, correlated: 0, white: 0.036 }, seed));
      const shared = model!.terms.filter(({ length }) => length > 1.5).reduce((sum, { variance }) => sum + variance, 0);
      expect(Math.sqrt(model!.white + model!.terms.reduce((sum, t) => sum + t.variance, 0))).toBeCloseTo(0.036, 2);
      expect(Math.sqrt(shared)).toBeLessThan(0.006);
    }
  });

  test.each([0.6, 1, 2, 4])('a hole of 5 mm has the ± its noise gives it, alike over %d mm', (length) => {
    // Of a full circle sampled evenly the radius errs by the mean of the errors: variance (white + Σ ρ(dᵢⱼ)·shared / n) / n, exactly.
    const n = 58;
    const radius = 2.5;
    const angle = (i: number) => (2 * Math.PI * i) / n;
    let sum = 0;
    for (let i = 0; i < n; i++)
      sum += 0.03 ** 2 * Math.exp(-((2 * radius * Math.sin(angle(i) / 2)) ** 2) / (2 * length * length));
    const truth = Math.sqrt((0.02 ** 2 + sum) / n);
    const standard = Array.from({ length: 6 }, (_, k) => {
      const noise = scanNoise(faceWith(noiseOf(length), 30 + k));
      const ring = circlePiece(360, n, radius);
      const share: Noise = { ...noiseOf(length), length: length / ring.extent };
      const positions = scansOf(ring, share, seededRandom(k + 1))();
      const plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } as const;
      const { covariance } = fitCircle({ positions }, { plane, noise }).uncertainty;
      return covariance[35];
    }).reduce((total, variance) => total + variance / 6, 0);
    expect(Math.sqrt(standard) / truth).toBeGreaterThan(0.8);
    expect(Math.sqrt(standard) / truth).toBeLessThan(1.35);
  });

  test('a bent surface tells it too, its shape taken out', () => {
    const wall = cylinderPiece(400, 120, 60, 60);
    const { from, model } = scanNoise(
      createScan({
        name: 'wall.ply',
        positions: scansOf(wall, { kernel: 'gaussian', length: 0, correlated: 0, white: 0.05 }, seededRandom(2))(),
      }),
    );
    expect(from).toBe('measured');
    expect(Math.sqrt(model!.white + model!.terms.reduce((sum, t) => sum + t.variance, 0))).toBeCloseTo(0.05, 2);
  });

  test('a hole quieter than the scan still bears what its neighbors share: long noise does not show in it', () => {
    // Errors of 0.005 mm to be seen, where the scan has 0.03 mm alike over 4 mm: the radius errs by some 0.02 mm for all that.
    const noise = scanNoise(faceWith(noiseOf(4), 40));
    const ring = circlePiece(360, 58, 2.5);
    const quiet: Noise = { kernel: 'gaussian', length: 0, correlated: 0, white: 0.005 };
    const positions = scansOf(ring, quiet, seededRandom(4))();
    const plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } as const;
    const { covariance } = fitCircle({ positions }, { plane, noise }).uncertainty;
    expect(Math.sqrt(covariance[35])).toBeGreaterThan(0.015);
  });

  test('a scan without a large surface tells nothing, and says so', () => {
    const random = seededRandom(3);
    const positions = Float64Array.from({ length: 3000 }, () => 50 * random.next());
    expect(scanNoise(createScan({ name: 'specks.ply', positions }))).toMatchObject({ from: 'unknown', surfaces: [] });
  });
});

describe('in a plan', () => {
  const random = seededRandom(5);
  const ring = Array.from({ length: 60 }, (_, i) => i).flatMap((i) => {
    const a = (2 * Math.PI * i) / 60;
    const r = 5 + 0.02 * random.normal();
    return [r * Math.cos(a), r * Math.sin(a), 0.02 * random.normal()];
  });
  const scan = createScan({ name: 'ring.ply', positions: Float64Array.from(ring) });
  const plan = (scanner?: object) =>
    checkPlan({
      version: 1,
      title: 'A ring alone',
      ...(scanner && { scanner }),
      steps: [
        { step: 'region', id: 'here', box: { min: [-9, -9, -9], max: [9, 9, 9] } },
        { step: 'fit', id: 'ring', shape: 'circle', to: 'here' },
      ],
    });

  test('a small feature of a scan that shows no noise warns that its ± rests on its own points alone', () => {
    const results = runPlan(plan(), scan);
    expect(results.sheet[0].warnings.map(({ code }) => code)).toContain('noise-unknown');
    expect(jobSheetTable(results)).toMatch(/Noise: not known: the scan has no smooth surface large enough/);
  });

  test('the noise a plan states is taken, told on the sheet, and widens the ±', () => {
    const shared = [{ length: 6, deviation: 0.05 }];
    const results = runPlan(plan({ accuracy: 0, noise: { white: 0.02, shared } }), scan);
    const [row] = results.sheet;
    expect(row.warnings.map(({ code }) => code)).not.toContain('noise-unknown');
    expect(jobSheetTable(results)).toMatch(
      /Noise: 0\.054 mm, of which 0\.02 mm each point has to itself and 0\.05 mm\s+neighbors\s+share\s+over\s+6 mm;\s+as the plan\s+states/,
    );
    const fit = results.outcomes.find((outcome) => outcome.kind === 'fit')!.fit;
    // Noise alike over 6 mm on a ring of 5 mm radius: the radius alone errs by some 0.03 mm, mean of the kernel over the ring.
    expect(expanded(fit.uncertainty).radius!.value).toBeGreaterThan(0.05);
  });
});

test('least squares with nothing below zero: no choice of columns does better', () => {
  // Against all 64 choices of columns, each solved by ordinary least squares on its normal equations.
  const random = seededRandom(9);
  for (let draw = 0; draw < 40; draw++) {
    const columns = Array.from({ length: 6 }, () => Float64Array.from({ length: 9 }, () => random.normal()));
    const right = Float64Array.from({ length: 9 }, () => random.normal());
    const cost = (x: ArrayLike<number>): number =>
      right.reduce((sum, b, i) => sum + (b - columns.reduce((s, column, j) => s + column[i] * x[j], 0)) ** 2, 0);
    const x = nonNegativeLeastSquares(columns, right);
    expect(Math.min(...x)).toBeGreaterThanOrEqual(0);
    let best = Infinity;
    for (let choice = 0; choice < 64; choice++) {
      const used = [0, 1, 2, 3, 4, 5].filter((j) => choice & (1 << j));
      const solved = leastSquares(
        used.map((j) => columns[j]),
        right,
      );
      if (solved.some((value) => value < 0)) continue;
      const all = new Float64Array(6);
      used.forEach((j, k) => {
        all[j] = solved[k];
      });
      best = Math.min(best, cost(all));
    }
    expect(cost(x)).toBeLessThan(best * (1 + 1e-9));
  }
});

/** By elimination on the normal equations. */
function leastSquares(columns: readonly Float64Array[], right: Float64Array): number[] {
  const n = columns.length;
  const dot = (a: Float64Array, b: Float64Array) => a.reduce((sum, value, i) => sum + value * b[i], 0);
  const rows = columns.map((a) => [...columns.map((b) => dot(a, b)), dot(a, right)]);
  for (let k = 0; k < n; k++)
    for (let i = 0; i < n; i++) {
      if (i === k) continue;
      const factor = rows[i][k] / rows[k][k];
      for (let j = k; j <= n; j++) rows[i][j] -= factor * rows[k][j];
    }
  return rows.map((row, k) => row[n] / row[k]);
}
