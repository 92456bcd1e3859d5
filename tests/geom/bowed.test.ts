import { type Feature, type Fit, fitCylinder, fitPlane, fitSphere, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { cylinderSkin, type NoiseMade, noiseOn, planeSkin, scanOf } from './two-pass-scans.js';
import { noises, scanned, tallyPasses } from './two-pass-tally.js';

/** The truth is known because the surfaces are made here. */

const SIGMA = 0.04;
const messageOf = ({ uncertainty }: Fit<Feature>): string | undefined =>
  uncertainty.warnings?.find(({ code }) => code === 'surface-bowed')?.message;
const plusMinus = ({ uncertainty }: Fit<Feature>, p: number): number => {
  const m = Math.sqrt(uncertainty.covariance.length);
  return 2 * Math.sqrt(uncertainty.covariance[p * (m + 1)]!);
};

describe('half of a plane that bows', () => {
  const bowed = (made: NoiseMade, seed: number): Fit<Extract<Feature, { kind: 'plane' }>> => {
    const random = seededRandom(seed);
    const skin = planeSkin(60, 40, 8000, random);
    // Level at one side of the region, 0.3 mm down at the other.
    return fitPlane({
      positions: scanOf(skin, noiseOn(skin, made, random), (i) => -0.3 * ((skin.flat[i]![0] + 1) / 2) ** 2),
    });
  };

  it.each([
    ['white', 0],
    ['heavy', 0],
    ['bumps', 1.5],
    ['rough', 1],
  ] as const)('is warned of under noise %s, and level and tilt of its middle lie within the ±', (kind, length) => {
    for (let seed = 1; seed <= 4; seed++) {
      const fit = bowed({ kind, sigma: SIGMA, length }, seed);
      const message = messageOf(fit)!;
      expect(message).toMatch(/bow by 0\.0\d+ mm over 6\d mm/);
      // A quarter of 0.3 mm is left beside the plane that fits best: the parabola over its chord.
      expect(Number(/bow by (\S+) mm/.exec(message)![1])).toBeCloseTo(0.075, 1);
      const [a, b, c] = fit.feature.normal;
      const tilt = Math.hypot(a, b) / Math.abs(c);
      expect(tilt).toBeGreaterThan(0.003);
      expect(tilt).toBeLessThan(Math.hypot(plusMinus(fit, 1), plusMinus(fit, 2)));
      expect(Math.abs(fit.feature.point[2])).toBeLessThan(plusMinus(fit, 0));
    }
  });
});

describe('cylinders', () => {
  it.each([
    ['barrel', 0.1],
    ['waist', -0.1],
  ])('that are a %s are warned of, and the ± holds the radius of the middle and of the ends', (_, height) => {
    const random = seededRandom(5);
    const skin = cylinderSkin(12, 40, 360, 8000, random);
    const noise = noiseOn(skin, { kind: 'bumps', sigma: SIGMA, length: 1.5 }, random);
    const fit = fitCylinder({ positions: scanOf(skin, noise, (i) => height * (1 - skin.flat[i]![1] ** 2)) });
    expect(messageOf(fit)).toMatch(/points of the cylinder bow by 0\.(09\d?|1\d?) mm over 4\d mm/);
    for (const radius of [12, 12 + height])
      expect(Math.abs(fit.feature.radius - radius)).toBeLessThan(plusMinus(fit, 4));
  });

  it('through a bent pipe are warned of, and the ± holds the directions of both its ends', () => {
    const random = seededRandom(6);
    const [bend, tube, half] = [800, 10, 0.025];
    const positions = torus(random, bend, tube, half, Math.PI);
    const fit = fitCylinder({ positions });
    expect(messageOf(fit)).toMatch(/cylinder bow/);
    const { axes } = fit.uncertainty;
    const end: Vec3 = [-Math.sin(half), Math.cos(half), 0];
    const along = (axis: Vec3): number => end[0] * axis[0] + end[1] * axis[1] + end[2] * axis[2];
    const off = Math.hypot(along(axes[0]), along(axes[1]));
    expect(off).toBeGreaterThan(0.02);
    expect(off).toBeLessThan(Math.hypot(plusMinus(fit, 2), plusMinus(fit, 3)));
  });
});

it('a sphere through a piece of a torus is warned of, and the ± of its radius holds both radii of the torus', () => {
  const random = seededRandom(7);
  const fit = fitSphere({ positions: torus(random, 4, 26, 0.5, 0.5) });
  expect(messageOf(fit)).toMatch(/points of the sphere bow/);
  for (const radius of [26, 30]) expect(Math.abs(fit.feature.radius - radius)).toBeLessThan(plusMinus(fit, 3));
});

describe('clean scans', () => {
  it.each(noises.map((noise) => [noise.name, noise] as const))('under noise %s do not bow', (_, noise) => {
    for (const of of [scanned.plane40, scanned.cylinder180, scanned.sphere])
      expect(tallyPasses(of, noise, 'clean', 3, 91).bows).toBe(0);
  });
});

/** Within so far of the outermost point, along the ring and about the tube, radians. */
function torus(random: ReturnType<typeof seededRandom>, bend: number, tube: number, along: number, about: number) {
  const positions: number[] = [];
  for (let i = 0; i < 8000; i++) {
    const turn = along * (2 * random.next() - 1);
    const around = about * (2 * random.next() - 1);
    const r = tube + SIGMA * random.normal();
    const far = bend + r * Math.cos(around);
    positions.push(far * Math.cos(turn), far * Math.sin(turn), r * Math.sin(around));
  }
  return Float64Array.from(positions);
}
