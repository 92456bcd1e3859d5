import { type Feature, type Fit, fitCylinder, fitPlane, seededRandom } from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { cylinderSkin, noiseOn, planeSkin, scanOf } from './two-pass-scans.js';
import { type Attack, noises, scanned, type Tally, tallyPasses } from './two-pass-tally.js';

/** The truth is known because the scans are made here. Many more of them: `npm run bench -- two-pass`. */

const noiseNamed = (name: string) => noises.find((noise) => noise.name === name)!;
const tally = (of: keyof typeof scanned, noise: string, attack: Attack, trials: number, seed: number): Tally =>
  tallyPasses(scanned[of], noiseNamed(noise), attack, trials, seed);
const warningOf = ({ uncertainty }: Fit<Feature>, code: string): string | undefined =>
  uncertainty.warnings?.find((warning) => warning.code === code)?.message;
const plusMinus = ({ uncertainty }: Fit<Feature>, p: number): number => {
  const m = Math.sqrt(uncertainty.covariance.length);
  return 2 * Math.sqrt(uncertainty.covariance[p * (m + 1)]!);
};

describe('passes that meet in a step twice the noise', () => {
  it.each([
    ['plane40', 'white'],
    ['plane40', 'bumps, 1/10'],
    ['cylinder180', 'heavy tails'],
    ['sphere', 'white, uneven density'],
  ] as const)('on %s under noise %s are warned of, and both lie within the ±', (of, noise) => {
    const { steps, held, looked, trials } = tally(of, noise, 'step', 4, 11);
    expect(steps).toBe(trials);
    expect(held / looked).toBeGreaterThanOrEqual(0.9);
  });
});

describe('passes that meet in a step twice the noise on cones and circles', () => {
  it.each(['cone', 'circle'] as const)('%s: 19 of 20 are warned of', (of) => {
    const { steps, held, looked, trials } = tally(of, 'white', 'step', 20, 13);
    expect(steps).toBeGreaterThanOrEqual(0.95 * trials);
    expect(held / looked).toBeGreaterThanOrEqual(0.93);
  });
});

describe('clean scans', () => {
  it.each([
    ['cone', 'white'],
    ['cone', 'smoothed, uneven, 1/8'],
    ['flatCone', 'white'],
    ['flatCone', 'bumps, 1/10'],
    ['cylinder', 'smoothed, uneven, 1/8'],
  ] as const)('of a %s under noise %s: none of 12 is warned of', (of, noise) => {
    expect(tally(of, noise, 'clean', 12, 23).warned).toBe(0);
  });

  it.each(['white', 'heavy tails', 'smoothed, uneven, 1/8', 'waves, 1/8', 'rough waves, 1/20'])(
    'under noise %s are warned of nothing',
    (noise) => {
      for (const of of ['plane40', 'cylinder'] as const) expect(tally(of, noise, 'clean', 3, 21).warned).toBe(0);
    },
  );

  it('of few digits have neither steps nor layers', () => {
    const random = seededRandom(4);
    const skin = planeSkin(60, 60, 6000, random);
    const positions = scanOf(
      skin,
      noiseOn(skin, { kind: 'white', sigma: 0.02 }, random),
      (i) => 0.004 * skin.place[i]![0]!,
    );
    const rounded = positions.map((c) => Math.round(c * 10) / 10);
    const codes = fitPlane({ positions: rounded }).uncertainty.warnings?.map(({ code }) => code) ?? [];
    expect(codes).not.toContain('stitching-step');
    expect(codes).not.toContain('double-layer');
  });
});

describe('double layers', () => {
  const random = seededRandom(3);

  it('0.3 mm apart all over a plane leave it midway, and the ± reaches both', () => {
    const skin = planeSkin(60, 40, 6000, random);
    const noise = noiseOn(skin, { kind: 'smoothed', sigma: 0.03, length: 3 }, random);
    const positions = scanOf(skin, noise, () => (random.next() < 0.45 ? 0.3 : 0));
    const fit = fitPlane({ positions });
    const message = warningOf(fit, 'double-layer')!;
    expect(message).toMatch(/two layers 0\.(29|3|31) mm apart, 4[456] % of them in the upper one/);
    expect(message).toMatch(/If one is to be left out, the upper one/);
    const level = fit.feature.point[2];
    expect(level).toBeCloseTo(0.135, 1);
    expect(plusMinus(fit, 0)).toBeGreaterThan(Math.max(level, 0.3 - level));
  });

  it('where a pass overlaps a part of a plane from below: the lower one stands off from the rest', () => {
    const skin = planeSkin(60, 40, 8000, random);
    const noise = noiseOn(skin, { kind: 'white', sigma: 0.04 }, random);
    const positions = scanOf(skin, noise, (i) => (skin.flat[i]![0] > 0.2 && random.next() < 0.6 ? -0.15 : 0));
    const message = warningOf(fitPlane({ positions }), 'double-layer')!;
    expect(message).toMatch(/If one is to be left out, the lower one/);
    const covered = Number(/Over (\d+) %/.exec(message)![1]);
    expect(Math.abs(covered - 40)).toBeLessThanOrEqual(8);
  });

  it('0.2 mm apart over half of a cylinder', () => {
    const skin = cylinderSkin(15, 30, 360, 8000, random);
    const noise = noiseOn(skin, { kind: 'bumps', sigma: 0.04, length: 2 }, random);
    const positions = scanOf(skin, noise, (i) => (skin.flat[i]![1] > 0 && random.next() < 0.5 ? 0.2 : 0));
    const fit = fitCylinder({ positions });
    expect(warningOf(fit, 'double-layer')).toMatch(/two layers 0\.(19|2|21) mm apart/);
    const off = fit.feature.radius - 15;
    expect(plusMinus(fit, 4)).toBeGreaterThan(Math.max(off, 0.2 - off));
  });
});
