import {
  expanded,
  expandedInWords,
  type FitForUncertainty,
  fitPlane,
  fitUncertainty,
  seededRandom,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { circlePiece, cylinderPiece, type Noise, planePiece, scansOf, tally } from './uncertainty-noise.js';

const noiseOf = (length: number): Noise => ({ kernel: 'gaussian', length, correlated: 0.05, white: 0.03 });

describe('stated 95 % intervals, simulated', () => {
  // Published with the same simulation (40 × 40 mm, 6,400 points, 0.05 mm correlated and 0.03 mm white noise): s·√(JᵀJ)⁻¹ covers
  // 95, 37, 19, 10 % with correlation lengths of 0, 1, 2, 4 mm. Three parameters of 100 trials: 7 points are two sigmas and a half.
  it.each([
    [0, 0.95],
    [1 / 40, 0.37],
    [1 / 20, 0.19],
    [1 / 10, 0.1],
  ])('would hold the truth as rarely as published if points counted as independent: length %s', (length, published) => {
    const piece = planePiece();
    const scan = scansOf(piece, noiseOf(length), seededRandom(11));
    let held = 0;
    const trials = 100;
    for (let t = 0; t < trials; t++) {
      const { feature, rms, count } = fitPlane({ positions: scan() });
      const shift = (1.96 * rms) / Math.sqrt(count);
      const tilt = shift / (piece.extent / Math.sqrt(12));
      const atMiddle =
        (feature.point[0] * feature.normal[0] + feature.point[1] * feature.normal[1]) / feature.normal[2] +
        feature.point[2];
      if (Math.abs(atMiddle) <= shift) held++;
      for (const a of [0, 1]) if (Math.abs(feature.normal[a] / feature.normal[2]) <= tilt) held++;
    }
    expect(Math.abs(held / (3 * trials) - published)).toBeLessThan(0.07);
  });

  // 40 trials each: an interval that holds the truth in 93 % does so in less than 33 of them with a chance of 1 %.
  const pieces = [planePiece(), circlePiece(360), circlePiece(90), cylinderPiece()];
  const all: number[] = [];
  it.each(pieces.flatMap((piece) => [0, 1 / 28, 1 / 10].map((length) => ({ name: piece.name, length, piece }))))(
    'hold the truth: $name, correlation over $length of it',
    ({ piece, length }) => {
      const { coverage } = tally(piece, noiseOf(length), 40, 3);
      for (const c of coverage) expect(c).toBeGreaterThanOrEqual(33 / 40);
      all.push(...coverage);
    },
  );

  // 480 independent trials: the mean is known to 1 %, and a little more than 95 % is what the benchmark finds.
  it('hold it in 95 % of all those trials, neither less nor much more', () => {
    expect(all).toHaveLength(3 * (3 + 3 + 3 + 5));
    const mean = all.reduce((a, b) => a + b, 0) / all.length;
    expect(mean).toBeGreaterThan(0.93);
    expect(mean).toBeLessThan(0.985);
  });

  it('warn where the correlation leaves little to judge by, and not where there is none', () => {
    expect(tally(planePiece(), noiseOf(1 / 6), 20).warned).toBeGreaterThan(0.7);
    expect(tally(planePiece(), noiseOf(0), 20).warned).toBe(0);
  });
});

/** A plane fit on a grid, by hand: residuals given, gradient of the distance by shift and tilts. */
const planeFit = (residuals: Float64Array, count: number, side: number): FitForUncertainty => {
  const at = (i: number): number => ((i + 0.5) / count - 0.5) * side;
  const positions = new Float64Array(3 * count * count);
  for (let i = 0; i < count * count; i++) positions.set([at(Math.floor(i / count)), at(i % count), 0], 3 * i);
  return {
    kind: 'plane',
    positions,
    residuals,
    parameters: 3,
    gradient: (i, out) => out.set([-1, positions[3 * i], positions[3 * i + 1]]),
    at: [0, 0, 0],
    axes: [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ],
    reach: side / 2,
  };
};

const whiteNoise = (n: number, seed: number, sigma = 0.02): Float64Array => {
  const random = seededRandom(seed);
  return Float64Array.from({ length: n }, () => sigma * random.normal());
};

describe('where noise is white', () => {
  it('the standard uncertainty is the textbook’s: σ/√n for the shift, σ·√12/(side·√n) for a tilt', () => {
    const runs = Array.from({ length: 40 }, (_, s) => fitUncertainty(planeFit(whiteNoise(2500, s), 50, 100)));
    const mean = (p: number): number => runs.reduce((sum, { covariance }) => sum + covariance[p * 4], 0) / runs.length;
    expect(Math.sqrt(mean(0)) / (0.02 / 50)).toBeGreaterThan(0.97);
    expect(Math.sqrt(mean(0)) / (0.02 / 50)).toBeLessThan(1.15);
    const tilt = (0.02 / 50) * (Math.sqrt(12) / 100);
    expect(Math.sqrt(mean(1)) / tilt).toBeGreaterThan(0.97);
    expect(Math.sqrt(mean(1)) / tilt).toBeLessThan(1.15);
  });

  it('an arc knows its radius as much worse as geometry says', () => {
    // var r = σ²/n · E c²/(E c² − (E c)²), c the cosine of the angle from the arc’s middle; a full circle: σ²/n.
    const piece = circlePiece(40, 2000);
    const scan = scansOf(piece, { kernel: 'gaussian', length: 0, correlated: 0, white: 0.02 }, seededRandom(2));
    const half = (20 * Math.PI) / 180;
    const c = Math.sin(half) / half;
    const cc = 0.5 + Math.sin(2 * half) / (4 * half);
    const textbook = 0.02 * Math.sqrt(cc / (cc - c * c) / 2000);
    const runs = Array.from({ length: 15 }, () => piece.fit(scan()).uncertainty);
    const radius = Math.sqrt(runs.reduce((sum, { covariance }) => sum + covariance[35], 0) / runs.length);
    expect(textbook / (0.02 / Math.sqrt(2000))).toBeGreaterThan(50);
    expect(radius / textbook).toBeGreaterThan(0.95);
    expect(radius / textbook).toBeLessThan(1.3);
  });
});

describe('what is known of the scanner', () => {
  const scanner = { accuracy: 0.05 };

  it('enters as a rectangular distribution, bound/√3, and never shrinks with the number of points', () => {
    // JCGM 100, 4.3.7. The plane reaches 100 mm from its middle.
    const u = 0.05 / Math.sqrt(3);
    for (const count of [20, 120]) {
      const fit = planeFit(whiteNoise(count * count, 1), count, 200);
      const { covariance, random } = fitUncertainty({ ...fit, scanner });
      expect(Math.sqrt(covariance[0])).toBeGreaterThanOrEqual(u);
      expect(Math.sqrt(covariance[0] - random![0])).toBeCloseTo(u, 12);
      expect(Math.sqrt(covariance[4] - random![4]) * 100).toBeCloseTo(u, 12);
    }
  });

  it('is known for certain: with it the coverage factor falls to that of the normal distribution', () => {
    const fit = planeFit(whiteNoise(400, 1), 20, 200);
    const { position } = expanded(fitUncertainty({ ...fit, scanner }));
    expect(position.factor).toBeCloseTo(1.96, 2);
    expect(position.value).toBeGreaterThan((1.96 * 0.05) / Math.sqrt(3));
  });
});

describe('odd data', () => {
  const finite = (values: Float64Array): boolean => values.every((x) => Number.isFinite(x));

  it('as many points as parameters leave nothing to tell the noise by, and say so', () => {
    const positions = Float64Array.of(0, 0, 0, 10, 0, 0, 0, 10, 0);
    const fit: FitForUncertainty = {
      ...planeFit(new Float64Array(3), 1, 10),
      positions,
      gradient: (i, out) => out.set([-1, positions[3 * i], positions[3 * i + 1]]),
    };
    const uncertainty = fitUncertainty(fit);
    expect(uncertainty.degreesOfFreedom).toBe(0);
    expect(uncertainty.warnings?.[0].code).toBe('no-redundancy');
    expect(expanded(uncertainty).position.value).toBe(Number.POSITIVE_INFINITY);
    expect(expandedInWords(uncertainty)).toMatch(/no more points than it takes/);
  });

  it('points without any noise have no uncertainty, and no NaN', () => {
    const { covariance, degreesOfFreedom } = fitUncertainty(planeFit(new Float64Array(400), 20, 50));
    expect(covariance.every((x) => x === 0)).toBe(true);
    expect(degreesOfFreedom).toBeGreaterThan(0);
  });

  it('points in a row, on few spots, or on one spot and far away give numbers', () => {
    for (const place of [
      (i: number) => [i, 0, 0],
      (i: number) => [i % 5, (i % 5) ** 2, 0],
      (i: number) => [i === 0 ? 1e6 : 0, i % 7, 0],
    ]) {
      const fit = planeFit(whiteNoise(100, 4), 10, 10);
      const positions = Float64Array.from({ length: 300 }, (_, k) => place(Math.floor(k / 3))[k % 3]);
      const uncertainty = fitUncertainty({
        ...fit,
        positions,
        gradient: (i, out) => out.set([-1, positions[3 * i], positions[3 * i + 1]]),
      });
      expect(finite(uncertainty.covariance)).toBe(true);
      expect(uncertainty.degreesOfFreedom).toBeGreaterThan(0);
    }
  });

  it('a handful of points keeps Student’s t for a handful', () => {
    for (const count of [2, 3]) {
      const { covariance, degreesOfFreedom } = fitUncertainty(planeFit(whiteNoise(count * count, 3), count, 10));
      expect(finite(covariance)).toBe(true);
      expect(degreesOfFreedom).toBeLessThanOrEqual(count * count - 3 + 1e-9);
    }
  });

  it('a parameter taken as given has none', () => {
    const fit = planeFit(whiteNoise(900, 6), 30, 60);
    const { covariance } = fitUncertainty({
      ...fit,
      gradient: (i, out) => {
        fit.gradient(i, out);
        out[1] = 0;
      },
    });
    expect([covariance[1], covariance[3], covariance[4], covariance[5], covariance[7]]).toEqual([0, 0, 0, 0, 0]);
    expect(covariance[0]).toBeGreaterThan(0);
    expect(covariance[8]).toBeGreaterThan(0);
  });

  it('the points used are those named', () => {
    const fit = planeFit(whiteNoise(900, 6), 30, 60);
    const used = Uint32Array.from({ length: 450 }, (_, i) => 2 * i);
    const apart = new Float64Array(3 * 450);
    used.forEach((p, i) => {
      apart.set(fit.positions.subarray(3 * p, 3 * p + 3), 3 * i);
    });
    const residuals = fit.residuals.slice(0, 450);
    const gradient: FitForUncertainty['gradient'] = (i, out) => fit.gradient(used[i], out);
    const named = fitUncertainty({ ...fit, used, residuals, gradient });
    const copied = fitUncertainty({ ...fit, positions: apart, residuals, gradient });
    expect(named.covariance).toEqual(copied.covariance);
  });

  it('the same points give the same answer', () => {
    const fit = planeFit(whiteNoise(10_000, 6), 100, 60);
    expect(fitUncertainty(fit)).toEqual(fitUncertainty(fit));
  });
});

it('reads as one line', () => {
  const words = expandedInWords({
    kind: 'cylinder',
    at: [0, 0, 0],
    axes: [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ],
    covariance: Float64Array.from({ length: 25 }, (_, k) => (k % 6 ? 0 : [0.01, 0.005, 1e-4, 1e-4, 0.002][k / 6] ** 2)),
    degreesOfFreedom: Number.POSITIVE_INFINITY,
    reach: 50,
  });
  expect(words).toBe(
    'axis ± 0.020 mm in its worst direction, radius ± 0.0039 mm, direction ± 0.011° (0.020 mm over its length); 95 %, k = 2.0',
  );
});
