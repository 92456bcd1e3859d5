import {
  FettleError,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitShape,
  fitSphere,
  seededRandom,
  suggestShape,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onFloor, pointsOf } from './fit-surfaces.js';

/** Code and message of what `work` throws. */
function refusal(work: () => unknown): { code: string; message: string } {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return { code: error.code, message: error.message };
    throw error;
  }
  throw new Error('nothing was thrown');
}

const along = (count: number) => ({ positions: pointsOf(count, (i) => [i, 2 * i, -i]) });
const floor = { positions: pointsOf(50, onFloor(seededRandom(1), 40, 30, 0)) };
const bore = { positions: pointsOf(200, aroundZ(seededRandom(2), 11, 360, 20, 0.05)) };

describe('points that cannot be fitted are refused in words', () => {
  test('no points', () => {
    expect(refusal(() => fitPlane({ positions: new Float64Array(0) }))).toEqual({
      code: 'points-empty',
      message: 'No points to fit a plane to. Choose a region that holds some.',
    });
    expect(refusal(() => fitPlane({ ...floor, select: new Uint32Array(0) })).code).toBe('points-empty');
  });

  test('a number of coordinates that is no number of points', () => {
    expect(refusal(() => fitPlane({ positions: new Float64Array(10) }))).toEqual({
      code: 'points-length',
      message: '10 coordinates are no whole number of points. Give x, y and z for each point.',
    });
  });

  test.each([
    ['plane', fitPlane, 3],
    ['line', fitLine, 2],
    ['circle', fitCircle, 3],
    ['sphere', fitSphere, 4],
    ['cylinder', fitCylinder, 5],
    ['cone', fitCone, 6],
  ])('one point too few for a %s', (kind, fit, least) => {
    expect(refusal(() => fit(along(least - 1)))).toEqual({
      code: 'too-few-points',
      message: `A ${kind} needs at least ${least} points and has ${least - 1}. Choose a larger region.`,
    });
  });

  test('three points for a cylinder', () => {
    expect(refusal(() => fitCylinder(along(3))).message).toBe(
      'A cylinder needs at least 5 points and has 3. Choose a larger region.',
    );
  });

  test('the scan is named', () => {
    const scan = { ...along(2), units: 'mm', name: 'pump.ply' } as const;
    expect(refusal(() => fitPlane(scan)).message).toMatch(/^pump\.ply: A plane needs/);
  });

  test('points on one straight line have no plane and no circle', () => {
    expect(refusal(() => fitPlane(along(40)))).toEqual({
      code: 'collinear-points',
      message:
        'The points lie on one straight line: many planes hold them. Choose a region with some width, or give the direction.',
    });
    expect(refusal(() => fitCircle(along(40)))).toEqual({
      code: 'radius-undetermined',
      message:
        'The points are flat or straight: a circle through them has no radius. Fit a line, or give the radius by hand.',
    });
  });

  test('one point many times', () => {
    const positions = pointsOf(1000, () => [1, 2, 3]);
    for (const fit of [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone]) {
      expect(refusal(() => fit({ positions }))).toEqual({
        code: 'points-coincide',
        message: 'All 1,000 points are the same point (101, -38, 11). Choose a region with some extent.',
      });
    }
  });

  test('an index beyond the scan', () => {
    expect(refusal(() => fitPlane({ ...floor, select: Uint32Array.of(0, 1, 120_331, 2) }))).toEqual({
      code: 'points-index-range',
      message:
        'select names point 120,331 at place 2, but there are only points 0 to 49. Was it made for another scan?',
    });
  });

  test.each([Number.NaN, Infinity, -Infinity])('a coordinate of %s', (value) => {
    const positions = bore.positions.slice();
    positions[3 * 17 + 1] = value;
    for (const fit of [fitPlane, fitLine, fitCircle, fitSphere, fitCylinder, fitCone, suggestShape]) {
      const { code, message } = refusal(() => fit({ positions }));
      expect(code).toBe('points-not-finite');
      expect(message).toContain('1 of 200 points has a coordinate that is not finite, the first is point 17');
    }
    const select = Uint32Array.from({ length: 100 }, (_, i) => 2 * i + 1);
    expect(refusal(() => fitPlane({ positions, select })).message).toContain('point 17 (');
    expect(fitPlane({ positions, select: select.map((i) => i - 1) }).count).toBe(100);
  });

  test('flat points have no radius', () => {
    for (const [kind, fit] of [
      ['sphere', fitSphere],
      ['cylinder', fitCylinder],
    ] as const) {
      expect(refusal(() => fit(floor))).toEqual({
        code: 'radius-undetermined',
        message: `The points are flat or straight: a ${kind} through them has no radius. Fit a plane, or give the radius by hand.`,
      });
    }
  });

  test('a cone through a plane or a cylinder has no apex', () => {
    const exact = { positions: pointsOf(200, aroundZ(seededRandom(3), 11, 360, 20, 0)) };
    expect(refusal(() => fitCone(exact))).toEqual({
      code: 'cone-without-taper',
      message: 'The points lie on a cylinder: a cone through them has no apex. Fit a cylinder.',
    });
    expect(refusal(() => fitCone(floor))).toEqual({
      code: 'cone-without-taper',
      message: 'The points lie on a plane: a cone through them has no apex. Fit a plane.',
    });
  });

  test('fewer points than a question about shapes needs', () => {
    expect(refusal(() => suggestShape(along(4))).code).toBe('too-few-points');
  });

  test('a shape that does not exist', () => {
    expect(refusal(() => fitShape('torus' as 'plane', floor))).toEqual({
      code: 'unknown-shape',
      message: 'There is no shape torus to fit. Use plane, line, circle, sphere, cylinder, cone, slot or ellipse.',
    });
  });
});

describe('options that make no sense are refused in words', () => {
  test.each([
    [{ radius: -3 }, 'The known radius cannot be used: it is -3. Give it in mm, more than 0.'],
    [{ radius: Number.NaN }, 'The known radius cannot be used: it is NaN. Give it in mm, more than 0.'],
    [
      { direction: [0, 0, 0] as const },
      'The known direction cannot be used: it is (0, 0, 0). Give three finite numbers, not all 0.',
    ],
    [
      { radius: { value: 11, uncertainty: -0.03 } },
      'The known radius cannot be used: its uncertainty is -0.03. Give ± as more than 0, or leave it out.',
    ],
    [
      { radius: { value: 11, prior: true } as never },
      'The known radius cannot be used: it has no uncertainty. A value to be weighed against the points needs one.',
    ],
  ])('known %o', (known, message) => {
    expect(refusal(() => fitCylinder(bore, { known }))).toEqual({ code: 'bad-known', message });
  });

  test('a half-angle of a right angle', () => {
    expect(refusal(() => fitCone(bore, { known: { halfAngle: Math.PI / 2 } })).code).toBe('bad-known');
  });

  test('a plane without a normal', () => {
    const plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 0] } as const;
    expect(refusal(() => fitCircle(bore, { plane })).code).toBe('bad-known');
  });

  test.each([0, -1, Number.NaN, Infinity])('rejection at %s sigmas', (reject) => {
    expect(refusal(() => fitPlane(floor, { reject }))).toEqual({
      code: 'bad-option',
      message: `reject is ${reject}: give a number of sigmas, more than 0 (3 is common).`,
    });
  });
});

describe('points that show little of a shape are told in words', () => {
  test('a 40° arc does not carry a radius', () => {
    const fit = fitCylinder({ positions: pointsOf(2000, aroundZ(seededRandom(4), 11, 40, 30, 0.05)) });
    expect(fit.warnings.map(({ code }) => code)).toEqual(['weak-radius']);
    // A full circle gives the radius to σ/√n; of a 40° arc the variance of cos θ about its mean leaves 1/55 of it: analytic.
    expect(fit.warnings[0].message).toMatch(
      /^A 40° arc does not carry a radius: 1[01]\.\d+ ± 0\.\d+ mm \(k = 2\), 5\d times as uncertain as from the full circle\. Give/,
    );
    const wide = fitCylinder({ positions: pointsOf(2000, aroundZ(seededRandom(4), 11, 85, 30, 0.05)) });
    expect(wide.warnings[0].message).toMatch(/^An 85° arc /);
    expect((fit.coverage.arc! * 180) / Math.PI).toBeCloseTo(40, 0);
    expect(fit.coverage.length).toBeCloseTo(30, 0);
  });

  test('a 2° arc: an error or a warning, never NaN', () => {
    for (const noise of [0, 1e-5, 0.001, 0.05]) {
      const positions = pointsOf(100, aroundZ(seededRandom(5), 11, 2, 1, noise));
      for (const fit of [fitCircle, fitCylinder, fitSphere]) {
        try {
          const { feature, warnings, uncertainty } = fit({ positions });
          expect(warnings.length).toBeGreaterThan(0);
          expect(Number.isFinite(feature.radius)).toBe(true);
          expect(uncertainty.covariance.every(Number.isFinite)).toBe(true);
        } catch (error) {
          expect((error as FettleError).code).toMatch(/^(radius-undetermined|fit-undetermined)$/);
        }
      }
    }
  });

  test('where noise is wider than the arc is high the radius stays open, and this is said', () => {
    const plane = { kind: 'plane', point: [0, 0, 8], normal: [0, 0, 1] } as const;
    const said = Array.from({ length: 20 }, (_, seed) => {
      // A chord of 8.7 mm whose arc is 0.19 mm high, with 0.3 mm of noise.
      const positions = pointsOf(30, aroundZ(seededRandom(seed), 50, 10, 0, 0.3));
      try {
        return fitCircle({ positions }, { plane }).warnings.map(({ code }) => code);
      } catch (error) {
        return [(error as FettleError).code];
      }
    }).flat();
    expect(new Set(said)).toEqual(new Set(['radius-undetermined', 'weak-radius']));
    expect(said).toHaveLength(20);
  });

  test('a disc hardly carries an axis', () => {
    const { warnings } = fitCylinder({ positions: pointsOf(2000, aroundZ(seededRandom(7), 11, 360, 2, 0.05)) });
    expect(warnings.map(({ code }) => code)).toEqual(['weak-direction']);
    expect(warnings[0].message).toMatch(/^2\.\d+ mm of length on a diameter of 22(\.\d+)? mm hardly carries an axis/);
  });

  test('a cone fitted to a bore says that it may be a cylinder', () => {
    const { warnings } = fitCone(bore);
    expect(warnings.map(({ code }) => code)).toEqual(['weak-taper']);
    expect(warnings[0].message).toContain('as far as these points tell this is a cylinder');
  });

  test('a full bore of good length has nothing to be warned of', () => {
    expect(fitCylinder(bore).warnings).toEqual([]);
  });
});
