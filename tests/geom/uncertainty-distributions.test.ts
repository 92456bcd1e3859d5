import { describe, expect, it } from 'vitest';
import {
  incompleteBeta,
  jointFactor,
  logGamma,
  studentFactor,
  studentTail,
  studentTailFast,
} from '../../packages/geom/src/math/distributions.js';

describe('Student’s t', () => {
  // JCGM 100 (GUM), table G.2, from memory: degrees of freedom, then t for 68.27, 95, 95.45 and 99 %.
  it.each([
    [1, 1.84, 12.71, 13.97, 63.66],
    [2, 1.32, 4.3, 4.53, 9.92],
    [5, 1.11, 2.57, 2.65, 4.03],
    [10, 1.05, 2.23, 2.28, 3.17],
    [20, 1.03, 2.09, 2.13, 2.85],
    [50, 1.01, 2.01, 2.05, 2.68],
    [Number.POSITIVE_INFINITY, 1, 1.96, 2, 2.576],
  ])('has the factors of the table at %s degrees of freedom', (degrees, one, ninetyFive, two, ninetyNine) => {
    expect(studentFactor(0.6827, degrees)).toBeCloseTo(one, 2);
    expect(Math.abs(studentFactor(0.95, degrees) - ninetyFive)).toBeLessThan(0.0051);
    expect(Math.abs(studentFactor(0.9545, degrees) - two)).toBeLessThan(0.0051);
    expect(Math.abs(studentFactor(0.99, degrees) - ninetyNine)).toBeLessThan(0.0051);
  });

  it('is Cauchy’s distribution at one degree and t/√(2+t²) at two', () => {
    for (const t of [0.1, 1, 3, 40, 1e4]) {
      expect(studentTail(t, 1) / ((2 / Math.PI) * Math.atan(1 / t))).toBeCloseTo(1, 11);
      const inner = Math.sqrt(2 + t * t);
      expect(studentTail(t, 2) / (2 / (inner * (inner + t)))).toBeCloseTo(1, 11);
    }
  });

  it('takes degrees of freedom that are not whole, between their neighbors', () => {
    const at = [4, 4.5, 5].map((degrees) => studentFactor(0.95, degrees));
    expect(at[0]).toBeGreaterThan(at[1]);
    expect(at[1]).toBeGreaterThan(at[2]);
  });

  it('has no factor without degrees of freedom, and none for certainty', () => {
    expect(studentFactor(0.95, 0)).toBe(Number.POSITIVE_INFINITY);
    expect(studentFactor(1, 10)).toBe(Number.POSITIVE_INFINITY);
    expect(studentFactor(0, 10)).toBe(0);
  });

  it('is told quickly to within 1 % of t', () => {
    for (const degrees of [6, 8, 20, 120, 500]) {
      for (const t of [0.5, 1, 2, 3]) {
        expect(studentTailFast(t, degrees)).toBeLessThan(studentTail(0.99 * t, degrees));
        expect(studentTailFast(t, degrees)).toBeGreaterThan(studentTail(1.01 * t, degrees));
      }
    }
  });
});

describe('joint intervals', () => {
  // χ² quantiles at 95 %: 3.841, 5.991, 7.815 for one, two, three degrees (any table; from memory).
  it('are √χ² when the covariance is known', () => {
    expect(jointFactor(0.95, 1, Number.POSITIVE_INFINITY) ** 2).toBeCloseTo(3.841, 3);
    expect(jointFactor(0.95, 2, Number.POSITIVE_INFINITY) ** 2).toBeCloseTo(5.991, 3);
    expect(jointFactor(0.95, 3, Number.POSITIVE_INFINITY) ** 2).toBeCloseTo(7.815, 3);
  });

  it('follow Fisher’s distribution, which for two dimensions is known in closed form', () => {
    for (const degrees of [3, 7.5, 40]) {
      const half = degrees * (0.05 ** (-2 / degrees) - 1);
      expect(jointFactor(0.95, 2, degrees) ** 2 / half).toBeCloseTo(1, 9);
    }
  });

  it('are Student’s in one dimension', () => {
    expect(jointFactor(0.9, 1, 6)).toBeCloseTo(studentFactor(0.9, 6), 9);
  });
});

it('the gamma and beta functions have their exact values', () => {
  expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.PI) / 2, 13);
  expect(logGamma(11)).toBeCloseTo(Math.log(3628800), 12);
  expect(logGamma(1e5) / (1e5 * Math.log(1e5) - 1e5 - 0.5 * Math.log(1e5 / (2 * Math.PI)))).toBeCloseTo(1, 11);
  // I_x(2, 3) = x²(6 − 8x + 3x²); I_x(1/2, 1/2) = (2/π) asin √x.
  for (const x of [0.01, 0.3, 0.77]) {
    expect(incompleteBeta(x, 2, 3)).toBeCloseTo(x * x * (6 - 8 * x + 3 * x * x), 13);
    expect(incompleteBeta(x, 0.5, 0.5)).toBeCloseTo((2 / Math.PI) * Math.asin(Math.sqrt(x)), 13);
  }
});
