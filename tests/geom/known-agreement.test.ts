import { fitCircle, fitCylinder, type KnownComparison, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, test } from 'vitest';

// White noise on few points is few pieces of noise. A given value that is true may be called off in 5 % of the draws: of 100, the binomial
// distribution has at most 10 with 98.9 % (BINOM.DIST(10; 100; 0.05)). Two standard uncertainties as the bound gave 12 for the size and 28
// for the axis.

const DRAWS = 100;
const MOST = 10;
const plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } as const;

const round = (count: number, turn: number, height: number, noise: () => number): Float64Array =>
  Float64Array.from(
    Array.from({ length: count }, (_, i): Vec3 => {
      const [angle, radius] = [2 * Math.PI * i * turn, 10 + 0.05 * noise()];
      return [radius * Math.cos(angle), radius * Math.sin(angle), (height * (i + 0.5)) / count];
    }).flat(),
  );

/** How many of the draws call the given value off, where it is `off` standard uncertainties of the free fit from the truth. */
function calledOff(
  seed: number,
  off: number,
  draw: (noise: () => number, off: number) => readonly KnownComparison[] | undefined,
) {
  const random = seededRandom(seed);
  let count = 0;
  for (let d = 0; d < DRAWS; d++) {
    const [known] = draw(() => random.normal(), off)!;
    if (known!.multiples > known!.factor) count++;
  }
  return count;
}

/** Six points around a hole of 10 mm radius; the radius given to a nanometer. */
function size(noise: () => number, off: number) {
  const positions = round(6, 1 / 6, 0, noise);
  const standard = Math.sqrt(fitCircle({ positions }, { plane }).uncertainty.covariance[35]);
  return fitCircle({ positions }, { plane, known: { radius: { value: 10 + off * standard, uncertainty: 1e-6 } } })
    .known;
}

/** Points in a spiral of the golden angle on a bore of 10 mm radius and 30 mm length; its axis given. */
const axis = (count: number) => (noise: () => number, off: number) => {
  const positions = round(count, 0.381966, 30, noise);
  const standard = Math.sqrt(fitCylinder({ positions }).uncertainty.covariance[12]);
  const value: Vec3 = [Math.tan(off * standard), 0, 1];
  return fitCylinder({ positions }, { known: { direction: { value, uncertainty: 1e-7 } } }).known;
};

describe('on few pieces of noise', () => {
  test('a true size is called off in about 5 %', () => {
    expect(calledOff(13, 0, size)).toBeLessThanOrEqual(MOST);
  });

  test('a true axis is called off in about 5 %: it may lean two ways at once', () => {
    expect(calledOff(80, 0, axis(10))).toBeLessThanOrEqual(MOST);
  });

  test('what is 4 standard uncertainties off is still told', () => {
    // Of t with the noise added to the 4, k = 2.6 to 3.2 leaves some unseen.
    expect(calledOff(15, 4, size)).toBeGreaterThan(0.7 * DRAWS);
    expect(calledOff(100, 4, axis(30))).toBeGreaterThan(0.85 * DRAWS);
  });
});
