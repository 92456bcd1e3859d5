import { readFileSync } from 'node:fs';
import {
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSphere,
  type Points,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import fc from 'fast-check';
import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { departure, drawCase, type FittedFeature, type FittedKind } from './null-space.js';

const fits: Record<FittedKind, (points: Points) => Fit<FittedFeature>> = {
  plane: fitPlane,
  line: fitLine,
  circle: fitCircle,
  sphere: fitSphere,
  cylinder: fitCylinder,
  cone: fitCone,
};
const kinds = Object.keys(fits) as FittedKind[];

interface ReferenceCase {
  readonly name: string;
  readonly kind: string;
  readonly points: readonly Vec3[];
  readonly expected: Record<string, number & Vec3>;
  readonly rms: number;
}
const reference = JSON.parse(readFileSync(new URL('../fixtures/reference-fits.json', import.meta.url), 'utf8')) as {
  readonly cases: readonly ReferenceCase[];
};

const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
/** Sine of the angle between two axes, whatever their sense. */
const betweenAxes = (a: Vec3, b: Vec3): number => Math.hypot(...cross(a, b));
const fromAxis = (p: Vec3, point: Vec3, direction: Vec3): number => Math.hypot(...cross(minus(p, point), direction));

// tests/fixtures/reference-fits.json: answers known by construction. Bounds: 1e-8 mm in place and size, 1e-9 rad in direction.
describe('reference point sets', () => {
  for (const { name, kind, points, expected, rms } of reference.cases) {
    if (!(kind in fits)) continue;
    test(name, () => {
      const fit = fits[kind as FittedKind]({ positions: Float64Array.from(points.flat()) });
      const { feature } = fit;
      expect(fit.converged).toBe(true);
      expect(Math.abs(fit.rms - rms)).toBeLessThan(1e-10);
      switch (feature.kind) {
        case 'plane':
          expect(betweenAxes(feature.normal, expected.normal)).toBeLessThan(1e-9);
          expect(Math.abs(dot(minus(feature.point, expected.point), expected.normal))).toBeLessThan(1e-8);
          break;
        case 'line':
          expect(betweenAxes(feature.direction, expected.direction)).toBeLessThan(1e-9);
          expect(fromAxis(feature.point, expected.point, expected.direction)).toBeLessThan(1e-8);
          break;
        case 'circle':
          expect(betweenAxes(feature.normal, expected.normal)).toBeLessThan(1e-9);
          expect(Math.hypot(...minus(feature.center, expected.center))).toBeLessThan(1e-8);
          expect(Math.abs(feature.radius - expected.radius)).toBeLessThan(1e-8);
          break;
        case 'sphere':
          expect(Math.hypot(...minus(feature.center, expected.center))).toBeLessThan(1e-8);
          expect(Math.abs(feature.radius - expected.radius)).toBeLessThan(1e-8);
          break;
        case 'cylinder':
          expect(betweenAxes(feature.direction, expected.direction)).toBeLessThan(1e-9);
          expect(fromAxis(feature.point, expected.point, expected.direction)).toBeLessThan(1e-8);
          expect(Math.abs(feature.radius - expected.radius)).toBeLessThan(1e-8);
          break;
        case 'cone': {
          // A slow taper's apex is ill-determined: half-angle, axis, and radius at the centroid are what the points carry.
          expect(betweenAxes(feature.direction, expected.direction)).toBeLessThan(1e-9);
          expect(Math.abs(feature.halfAngle - expected.halfAngle)).toBeLessThan(1e-9);
          expect(fromAxis(feature.apex, expected.apex, expected.direction)).toBeLessThan(1e-8);
          const centroid = [0, 1, 2].map(
            (k) => points.reduce((s, p) => s + p[k], 0) / points.length,
          ) as unknown as Vec3;
          const radius = (apex: Vec3, direction: Vec3, angle: number) =>
            Math.abs(dot(minus(centroid, apex), direction)) * Math.tan(angle);
          expect(
            radius(feature.apex, feature.direction, feature.halfAngle) -
              radius(expected.apex, expected.direction, expected.halfAngle),
          ).toBeCloseTo(0, 8);
          break;
        }
      }
    });
  }
});

test('the circle of Gander, Golub and Strebel, to its printed digits', () => {
  // BIT 34 (1994) 558-578: center (4.7398, 2.9835), radius 4.7142; SciPy 1.10.1: (4.73978241, 2.98353273), 4.71422601.
  // The linear fit of the same points gives (4.7423, 3.8351) and 4.1088.
  const flat = [1, 7, 2, 6, 5, 8, 7, 7, 9, 5, 3, 7];
  const positions = Float64Array.from(flat.flatMap((c, i) => (i % 2 === 0 ? [c] : [c, 0])));
  for (const options of [{ plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } }, {}] as const) {
    const { center, radius } = fitCircle({ positions }, options).feature;
    expect(center[0].toFixed(4)).toBe('4.7398');
    expect(center[1].toFixed(4)).toBe('2.9835');
    expect(radius.toFixed(4)).toBe('4.7142');
    // SciPy stops at 1e-8 of the sum of squares.
    expect(center[0]).toBeCloseTo(4.73978241, 7);
    expect(center[1]).toBeCloseTo(2.98353273, 7);
    expect(radius).toBeCloseTo(4.71422601, 7);
  }
});

// The long version, 10,000 draws a shape, is tests/bench/tasks/fit-draws.ts.
describe('fresh point sets with a known best fit, whatever their size, place and proportions', () => {
  for (const kind of kinds) {
    test(`${kind}: within 1e-9 of its size times its condition`, () => {
      fc.assert(
        fc.property(fc.integer({ min: 1, max: 1e9 }), (seed) => {
          const drawn = drawCase(seededRandom(seed), kind);
          const fit = fits[kind]({ positions: drawn.positions });
          expect(fit.converged).toBe(true);
          expect(departure(fit.feature, drawn) / drawn.size / drawn.condition).toBeLessThan(1e-9);
          expect(Math.abs(fit.rms - drawn.rms)).toBeLessThan(1e-9 * drawn.size);
        }),
        { numRuns: 60, seed: 20, endOnFailure: true },
      );
    });
  }
});

describe('beside the singular value decomposition of ml-matrix', () => {
  const cloud = (count: number, sides: readonly number[], seed: number): Float64Array => {
    const random = seededRandom(seed);
    return Float64Array.from(
      { length: 3 * count },
      (_, i) => sides[i % 3] * random.normal() + [8000, -9000, 14000][i % 3],
    );
  };
  const axesOf = (positions: Float64Array): Matrix => {
    const n = positions.length / 3;
    const mean = [0, 1, 2].map((k) => positions.reduce((s, c, i) => (i % 3 === k ? s + c / n : s), 0));
    const rows = Array.from({ length: n }, (_, i) => [0, 1, 2].map((k) => positions[3 * i + k] - mean[k]));
    return new SingularValueDecomposition(new Matrix(rows), { autoTranspose: true }).rightSingularVectors;
  };
  test.each([
    [300, [40, 30, 0.05]],
    [300, [40, 0.4, 0.05]],
    [5000, [400, 0.5, 0.2]],
  ])('%i points spread %s mm: the same plane and line', (count, sides) => {
    const positions = cloud(count, sides, 5);
    const axes = axesOf(positions);
    expect(betweenAxes(fitPlane({ positions }).feature.normal, axes.getColumn(2) as unknown as Vec3)).toBeLessThan(
      1e-11,
    );
    expect(betweenAxes(fitLine({ positions }).feature.direction, axes.getColumn(0) as unknown as Vec3)).toBeLessThan(
      1e-12,
    );
  });
});
