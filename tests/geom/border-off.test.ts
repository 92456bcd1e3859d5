import { type Feature, type Fit, fitCylinder, fitPlane, type Random, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { type NoiseMade, noiseOn, type Skin, scanOf } from './two-pass-scans.js';
import { noises, scanned, tallyPasses } from './two-pass-tally.js';

/** The truth is known because the surfaces are made here. */

const SIGMA = 0.04;
const COUNT = 6000;
const made: readonly NoiseMade[] = [
  { kind: 'white', sigma: SIGMA },
  { kind: 'heavy', sigma: SIGMA },
];
const messageOf = ({ uncertainty }: Fit<Feature>): string | undefined =>
  uncertainty.warnings?.find(({ code }) => code === 'border-off')?.message;
const plusMinus = ({ uncertainty }: Fit<Feature>, p: number): number => {
  const m = Math.sqrt(uncertainty.covariance.length);
  return 2 * Math.sqrt(uncertainty.covariance[p * (m + 1)]!);
};

function skinOf(random: Random, at: (s: number, t: number) => readonly [Vec3, Vec3]): Skin {
  const all = Array.from({ length: COUNT }, () => at(2 * random.next() - 1, 2 * random.next() - 1));
  return {
    name: 'made',
    count: COUNT,
    place: all.map(([p]) => p),
    normal: all.map(([, n]) => n),
    flat: all.map(() => [0, 0]),
    extent: 50,
  };
}

describe.each(made.map((noise) => [noise.kind, noise] as const))('under noise %s', (_, noise) => {
  it('a plane whose region runs 1 mm onto its fillets of 3 mm is warned of, and its level lies within the ±', () => {
    for (let seed = 1; seed <= 3; seed++) {
      const random = seededRandom(seed);
      const skin = skinOf(random, (s, t) => {
        const beyond = Math.max(0, Math.abs(25 * s) - 24, Math.abs(20 * t) - 19);
        return [
          [25 * s, 20 * t, Math.sqrt(9 - beyond * beyond) - 3],
          [0, 0, 1],
        ];
      });
      const fit = fitPlane({ positions: scanOf(skin, noiseOn(skin, noise, random)) });
      expect(messageOf(fit)).toMatch(/^All along its border the region of the plane bends away by 0\.\d+ mm/);
      expect(Math.abs(fit.feature.point[2])).toBeLessThan(plusMinus(fit, 0));
    }
  });

  it('a fillet of 5 mm whose region holds 34 % of the flats beside it is warned of, and 5 lies within the ±', () => {
    for (let seed = 1; seed <= 3; seed++) {
      const random = seededRandom(10 + seed);
      const quarter = Math.PI / 4;
      const skin = skinOf(random, (s, t) => {
        const along = (5 * quarter * s) / 0.66;
        const turn = Math.max(-quarter, Math.min(quarter, along / 5));
        const flat = along - 5 * turn;
        const [c, d] = [Math.cos(turn), Math.sin(turn)];
        return [
          [5 * c - flat * d, 5 * d + flat * c, 10 * t],
          [c, d, 0],
        ];
      });
      const fit = fitCylinder({ positions: scanOf(skin, noiseOn(skin, noise, random)) });
      expect(messageOf(fit)).toMatch(/region of the cylinder bends away/);
      expect(fit.feature.radius).toBeGreaterThan(5.25);
      expect(fit.feature.radius - 5).toBeLessThan(plusMinus(fit, 4));
    }
  });
});

describe('clean scans', () => {
  it.each(noises.map((noise) => [noise.name, noise] as const))('under noise %s have sound borders', (_, noise) => {
    for (const of of [scanned.plane40, scanned.cylinder, scanned.sphere])
      expect(tallyPasses(of, noise, 'clean', 2, 92).borders).toBe(0);
  });
});
