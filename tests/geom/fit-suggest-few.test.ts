import { seededRandom, suggestShape } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onFloor, pointsOf } from './fit-surfaces.js';

const NOISE = 0.05;
const flat = (seed: number, count: number) =>
  suggestShape({ positions: pointsOf(count, onFloor(seededRandom(seed), 40, 30, NOISE)) });
const seeds = Array.from({ length: 8 }, (_, i) => i + 1);

describe('a shape is suggested only where the points can tell', () => {
  test.each([7, 9, 11])('%i points of a flat face: too little to tell, no runner-up, and nothing settled', (count) => {
    for (const seed of seeds) {
      const { reason, runnerUp, by } = flat(seed, count);
      expect(reason).toMatch(new RegExp(`^Too little to tell: ${count} points`));
      expect([runnerUp, by]).toEqual([undefined, 0]);
    }
  });

  test('29 points of a flat face are never clearly another shape', () => {
    for (const seed of seeds) expect(flat(seed, 29).reason).not.toMatch(/^Clearly a (sphere|cylinder|cone)/);
  });

  test('nor are points of a table whose height was written in whole millimeters', () => {
    for (const seed of seeds) {
      const random = seededRandom(seed);
      const make = (i: number) => [2 * (i % 6), 2 * Math.floor(i / 6), Math.round(0.4 * random.normal())] as const;
      expect(suggestShape({ positions: pointsOf(29, make) }).reason).not.toMatch(/^Clearly a (sphere|cylinder|cone)/);
    }
  });

  test('a strip as narrow as three times its noise tells nothing, however many points it has', () => {
    const random = seededRandom(3);
    const make = () => [40 * random.next(), 0.2 * random.next(), NOISE * random.normal()] as const;
    expect(suggestShape({ positions: pointsOf(400, make) }).reason).toMatch(/^Too little to tell: /);
  });

  test('a runner-up bends more than a third of the noise: no sphere of hundreds of meters stands beside a plane', () => {
    for (const seed of seeds.slice(0, 4)) {
      const { kind, reason } = flat(seed, 600);
      expect(kind).toBe('plane');
      // Of z = x²/2R over ±20 and y²/2R over ±15 the standard deviation is 68.4 / R (analytic), of x alone 59.6 / R.
      for (const [, radius] of reason.matchAll(/radius ([\d,.]+) mm/g))
        expect(Number(radius!.replaceAll(',', ''))).toBeLessThan(68.4 / (0.3 * NOISE));
    }
  });

  test('sixty points of a third of a bore are enough for a cylinder', () => {
    const { kind, reason } = suggestShape({ positions: pointsOf(60, aroundZ(seededRandom(2), 9, 120, 20, NOISE)) });
    expect(kind).toBe('cylinder');
    expect(reason).not.toMatch(/^Too little to tell/);
  });
});
