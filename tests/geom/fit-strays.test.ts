import {
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitPlane,
  fitSphere,
  seededRandom,
  suggestShape,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onCap, onCone, onFloor, pointsOf } from './fit-surfaces.js';
import { departureInUncertainties, type Strays, type StrewnKind, strewn } from './strays.js';

const fits: Record<StrewnKind, (points: object, options?: object) => Fit<never>> = {
  plane: fitPlane as never,
  circle: fitCircle as never,
  sphere: fitSphere as never,
  cylinder: fitCylinder as never,
  cone: fitCone as never,
};
const words: Record<Strays, string> = { plane: '40 % on a plane at 15°', scatter: '30 % scattered' };

// The long version, 1,000 draws each, is tests/bench/tasks/fit-strays.ts.
describe('points that belong elsewhere do not move a robust fit', () => {
  for (const kind of Object.keys(fits) as StrewnKind[]) {
    for (const strays of ['plane', 'scatter'] as const) {
      test(`${kind}, ${words[strays]}: within twice the standard uncertainty of the fit without them`, () => {
        const random = seededRandom(100);
        for (let i = 0; i < 4; i++) {
          const { positions, own } = strewn(random, kind, strays, 600);
          const clean = fits[kind]({ positions, select: own });
          const found = fits[kind]({ positions }, i % 2 === 0 ? { robust: true } : { reject: 3 });
          expect(departureInUncertainties(found.feature, clean)).toBeLessThan(2);
          expect(found.rms).toBeGreaterThan(0.85 * clean.rms);
          expect(found.rms).toBeLessThan(1.15 * clean.rms);
        }
      });
    }
  }

  test('nor those of a surface that ends just past where it meets this one', () => {
    const random = seededRandom(103);
    const [sin, cos] = [Math.sin(Math.PI / 12), Math.cos(Math.PI / 12)];
    for (let i = 0; i < 4; i++) {
      const face = onFloor(random, 40, 20, 0.05);
      const rising = onFloor(random, 40, 20, 0.05);
      // Turned by 15° about a line from which it goes 0.8 mm to the one side and 39.2 mm to the other.
      const other = () => {
        const [x, y, z] = rising();
        return [-19 + (x + 19.2) * cos - z * sin, y, (x + 19.2) * sin + z * cos] as const;
      };
      const positions = pointsOf(1000, (k) => (k < 600 ? face() : other()));
      const clean = fitPlane({ positions, select: Uint32Array.from({ length: 600 }, (_, k) => k) });
      const found = fitPlane({ positions }, { robust: true });
      expect(departureInUncertainties(found.feature, clean)).toBeLessThan(0.8);
      expect(found.used!.filter((k) => k >= 600).length).toBeLessThan(4);
    }
  });

  test('nor those of a flare, once let in, let in the rest of it', () => {
    for (const seed of [4, 6]) {
      const random = seededRandom(seed);
      const between = (low: number, high: number): number => low + (high - low) * random.next();
      /** A point of a cone that is `radius` wide at `level`, `along` its line from there. */
      const onLine = (radius: number, level: number, halfAngle: number, turn: number, along: number): Vec3 => {
        const out = 0.05 * random.normal();
        const [sin, cos] = [Math.sin(halfAngle), Math.cos(halfAngle)];
        const r = radius + along * sin + out * cos;
        return [r * Math.cos(turn), r * Math.sin(turn), level + along * cos - out * sin];
      };
      const [sin, cos] = [Math.sin(0.6), Math.cos(0.6)];
      const cone = (): Vec3 => onLine(10, 0, 0.6, between(0, 4.5), between(-4, 4));
      const flare = (): Vec3 => onLine(10 + 2 * sin, 2 * cos, 0.6 + Math.PI / 12, between(0, 4.5), between(0, 2.5));
      const positions = pointsOf(1000, (i) => (i < 640 ? cone() : flare()));
      const clean = fitCone({ positions, select: Uint32Array.from({ length: 640 }, (_, i) => i) });
      const found = fitCone({ positions }, { robust: true });
      expect(departureInUncertainties(found.feature, clean)).toBeLessThan(2);
      expect(found.used!.filter((i) => i >= 640).length).toBeLessThan(18);
    }
  });

  test('without a robust start they do', () => {
    const { positions, own } = strewn(seededRandom(101), 'plane', 'plane', 800);
    const clean = fitPlane({ positions, select: own });
    expect(departureInUncertainties(fitPlane({ positions }).feature, clean)).toBeGreaterThan(20);
  });

  test('the same points give the same fit', () => {
    const { positions } = strewn(seededRandom(102), 'cylinder', 'scatter', 800);
    expect(fitCylinder({ positions }, { robust: true })).toEqual(fitCylinder({ positions }, { robust: true }));
  });
});

describe('which surface a region is', () => {
  const surfaces = {
    plane: onFloor(seededRandom(110), 40, 30, 0.05),
    sphere: onCap(seededRandom(111), 12, 60, 0.05),
    cylinder: aroundZ(seededRandom(112), 11, 60, 20, 0.05),
    cone: onCone(seededRandom(113), 11, 5, 20, 0.05),
  } as const;

  test.each(Object.keys(surfaces) as (keyof typeof surfaces)[])('%s', (kind) => {
    const {
      kind: found,
      runnerUp,
      by,
      reason,
      candidates,
    } = suggestShape({
      positions: pointsOf(1500, surfaces[kind]),
    });
    expect(found).toBe(kind);
    expect(by).toBeGreaterThan(2);
    expect(candidates[0].kind).toBe(kind);
    // Of flat points every other shape bends by less than their noise: none is a runner-up.
    const others = kind === 'plane' ? undefined : candidates[1];
    expect(runnerUp).toBe(others?.kind);
    if (others) expect(by).toBeCloseTo(others.criterion - candidates[0].criterion, 9);
    else expect(by).toBe(Number.POSITIVE_INFINITY);
    expect(reason).toMatch(new RegExp(`^(Rather|Clearly) a ${kind}: a ${kind} `));
  });

  test('freedom that is not needed is not preferred: a cone holds a bore as well and has one parameter more', () => {
    const { runnerUp, by } = suggestShape({
      positions: pointsOf(1500, aroundZ(seededRandom(114), 11, 360, 20, 0.05)),
    });
    expect(runnerUp).toBe('cone');
    // One parameter of 1,500 independent points costs ln 1500 = 7.3, less what chance lets it fit (χ² of one degree).
    expect(by).toBeLessThan(Math.log(1500));
    expect(by).toBeGreaterThan(Math.log(1500) - 10);
  });

  test('strays do not change the answer', () => {
    const random = seededRandom(115);
    const bore = aroundZ(random, 11, 180, 20, 0.05);
    const positions = pointsOf(1500, () =>
      random.next() < 0.25 ? [30 * random.next() - 15, 30 * random.next() - 15, 30 * random.next() - 15] : bore(),
    );
    const { kind, candidates } = suggestShape({ positions });
    expect(kind).toBe('cylinder');
    expect(candidates[0].share).toBeGreaterThan(0.72);
    expect(candidates[0].share).toBeLessThan(0.82);
  });

  test('a face bent by less than its noise is still a plane', () => {
    // 40 mm of a radius of 40 m: a sagitta of 0.005 mm under 0.05 mm of noise.
    const random = seededRandom(116);
    const face = onFloor(random, 40, 30, 0.05);
    const bent = () => {
      const [x, y, z] = face();
      return [x, y, z + (x * x) / 80_000] as const;
    };
    expect(suggestShape({ positions: pointsOf(1500, bent) }).kind).toBe('plane');
  });

  test('a bend that is certain and lost in the noise is no bend; one that stands out is', () => {
    // Off its best plane a parabola of height s is s·√(4/45) rms: of 0.04 mm a quarter of the noise, of 0.2 mm more than it.
    const bent = (seed: number, radius: number) => {
      const face = onFloor(seededRandom(seed), 40, 30, 0.05);
      return () => {
        const [x, y, z] = face();
        return [x, y, z + (x * x) / (2 * radius)] as const;
      };
    };
    const { kind, reason, by } = suggestShape({ positions: pointsOf(2000, bent(119, 5_000)) });
    expect(kind).toBe('plane');
    expect(by).toBe(0);
    expect(reason).toMatch(/^A plane, as near as the noise can tell: a plane holds 100 % /);
    expect(suggestShape({ positions: pointsOf(2000, bent(120, 1_000)) }).kind).toBe('cylinder');
  });

  test('exact points', () => {
    expect(suggestShape({ positions: pointsOf(300, aroundZ(seededRandom(117), 11, 90, 20, 0)) }).kind).toBe('cylinder');
    expect(suggestShape({ positions: pointsOf(300, onFloor(seededRandom(118), 11, 90, 0)) }).kind).toBe('plane');
  });
});
