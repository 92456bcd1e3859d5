import {
  checkPlan,
  createScan,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSphere,
  runPlan,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, MOVE, onCap, onCone, onFloor, pointsOf } from './fit-surfaces.js';

const angleBetween = (a: Vec3, b: Vec3): number => {
  const dot = a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  return Math.atan2(Math.hypot(...cross), dot);
};
const standard = (covariance: Float64Array, parameter: number): number =>
  Math.sqrt(covariance[parameter * (Math.sqrt(covariance.length) + 1)]);

/** A bore of 11 mm radius that shows 40° of its wall. */
const sector = { positions: pointsOf(2000, aroundZ(seededRandom(21), 11, 40, 30, 0.05)) };
const bore = { positions: pointsOf(2000, aroundZ(seededRandom(22), 11, 360, 30, 0.05)) };
const z: Vec3 = [0, 0, 1];

describe('values taken as given', () => {
  test('a caliper gives the size, a datum the direction, the scan the place', () => {
    const { feature, converged, uncertainty } = fitCylinder(sector, { known: { radius: 11, direction: [0, 0, 7] } });
    expect(converged).toBe(true);
    expect(feature.radius).toBe(11);
    expect(feature.direction).toEqual([0, 0, 1]);
    // 2,000 points to 0.05 mm: the place to a few µm where the radius alone leaves it open by a tenth of a mm.
    expect(Math.hypot(feature.point[0] - MOVE[0], feature.point[1] - MOVE[1])).toBeLessThan(0.03);
    expect([2, 3, 4].map((p) => standard(uncertainty.covariance, p))).toEqual([0, 0, 0]);
  });

  test('the direction given decides the sense', () => {
    expect(fitCylinder(bore, { known: { direction: [0, 0, -1] } }).feature.direction).toEqual([0, 0, -1]);
    expect(fitPlane({ positions: bore.positions }, { known: { direction: [0, 0, -2] } }).feature.normal).toEqual([
      0, 0, -1,
    ]);
  });

  test('two points set a plane of known direction, three a circle of known radius', () => {
    const level = fitPlane({ positions: pointsOf(2, (i) => [10 * i, 0, 3 + i]) }, { known: { direction: z } });
    expect(level.feature.point).toEqual([105, -40, 11.5]);
    const three = { positions: pointsOf(3, (i) => [[3, 4, 0] as const, [3, -4, 0] as const, [5, 0, 0] as const][i]) };
    const { feature } = fitCircle(three, {
      known: { radius: 5 },
      plane: { kind: 'plane', point: [0, 0, 8], normal: [0, 0, 1] },
    });
    feature.center.forEach((c, k) => {
      expect(c).toBeCloseTo(MOVE[k], 9);
    });
  });

  test('a known half-angle, a known sphere, a known line', () => {
    const cone = fitCone(
      { positions: pointsOf(1500, onCone(seededRandom(23), 8, 45, 6, 0.02)) },
      { known: { halfAngle: Math.PI / 4, direction: z } },
    ).feature;
    expect(cone.halfAngle).toBe(Math.PI / 4);
    expect(cone.apex[2]).toBeCloseTo(8 - 8, 1);
    const ball = fitSphere(
      { positions: pointsOf(1500, onCap(seededRandom(24), 12.7, 60, 0.02)) },
      { known: { radius: 12.7 } },
    ).feature;
    expect(Math.hypot(...ball.center.map((c, k) => c - MOVE[k]))).toBeLessThan(0.01);
    const edge = fitLine({ positions: pointsOf(50, (i) => [0.01 * (i % 3), 0, i]) }, { known: { direction: z } });
    expect(edge.feature.direction).toEqual([0, 0, 1]);
  });

  test('a radius off by half a millimetre still gives the place nearest the wall, on either side of it', () => {
    for (const radius of [9, 11.5, 40, 400]) {
      const { feature, converged, rms } = fitCylinder(sector, { known: { radius } });
      expect(converged).toBe(true);
      expect(rms).toBeLessThan(0.25);
      // The wall's middle, at 20°, stays where it is.
      const middle: Vec3 = [MOVE[0] + 11 * Math.cos(Math.PI / 9), MOVE[1] + 11 * Math.sin(Math.PI / 9), MOVE[2]];
      expect(Math.hypot(middle[0] - feature.point[0], middle[1] - feature.point[1])).toBeCloseTo(radius, 0);
    }
  });
});

describe('exact points and a value that is not theirs: what symmetry says', () => {
  const turns = 72;
  const onTurn = (i: number, radius: number, height: number): Vec3 => {
    const turn = (2 * Math.PI * i) / turns;
    return [radius * Math.cos(turn), radius * Math.sin(turn), height];
  };
  /** A ring, a wall of rings, and the corners of boxes about one center: each the same seen from all its sides. */
  const ring = { positions: pointsOf(turns, (i) => onTurn(i, 9, 0)) };
  const wall = { positions: pointsOf(5 * turns, (i) => onTurn(i % turns, 9, 4 * (Math.floor(i / turns) - 2))) };
  const signs = (i: number): Vec3 => [i & 1 ? 1 : -1, i & 2 ? 1 : -1, i & 4 ? 1 : -1];
  const long = Math.hypot(1, 2, 3);
  const corners = {
    positions: pointsOf(24, (i) => {
      const box = [1, 2, 3].map((_, k) => [1, 2, 3][(k + Math.floor(i / 8)) % 3]);
      return signs(i % 8).map((s, k) => (9 * s * box[k]) / long) as unknown as Vec3;
    }),
  };

  test.each([
    [
      'circle',
      (radius: number) => fitCircle(ring, { known: { radius } }),
      (f: object) => (f as { center: Vec3 }).center,
    ],
    [
      'sphere',
      (radius: number) => fitSphere(corners, { known: { radius } }),
      (f: object) => (f as { center: Vec3 }).center,
    ],
    [
      'cylinder',
      (radius: number) => fitCylinder(wall, { known: { radius } }),
      (f: object) => (f as { point: Vec3 }).point,
    ],
  ])('%s: the center stays, every residual is the difference of the radii', (_, fitWith, centerOf) => {
    for (const radius of [9, 9.02, 8.5]) {
      const { feature, residuals, rms, known } = fitWith(radius);
      expect(feature.radius).toBe(radius);
      centerOf(feature).forEach((c, k) => {
        expect(c).toBeCloseTo(MOVE[k], 8);
      });
      for (const residual of residuals) expect(residual).toBeCloseTo(9 - radius, 9);
      expect(rms).toBeCloseTo(Math.abs(9 - radius), 9);
      expect(known![0].free as number).toBeCloseTo(9, 9);
    }
  });

  test('a plane and a line of known direction pass through the centroid, and their residuals grow with the sine', () => {
    const [sin, cos] = [Math.sin(0.02), Math.cos(0.02)];
    const direction: Vec3 = [sin, 0, cos];
    const grid = { positions: pointsOf(63, (i) => [(i % 9) - 4, Math.floor(i / 9) - 3, 0]) };
    const level = fitPlane(grid, { known: { direction } });
    level.feature.point.forEach((c, k) => {
      expect(c).toBeCloseTo(MOVE[k], 12);
    });
    // Nine places a millimeter apart: mean square (9² − 1)/12.
    expect(level.rms).toBeCloseTo(sin * Math.sqrt(80 / 12), 12);
    expect(level.known![0].difference).toBeCloseTo(0.02, 12);
    const edge = fitLine({ positions: pointsOf(9, (i) => [0, 0, i - 4]) }, { known: { direction } });
    expect(edge.rms).toBeCloseTo(sin * Math.sqrt(80 / 12), 12);
  });

  test('a cylinder and a circle of known direction: the center is where symmetry puts it', () => {
    const direction: Vec3 = [Math.sin(0.02), 0, Math.cos(0.02)];
    for (const at of [
      fitCylinder(wall, { known: { direction } }).feature.point,
      fitCircle(ring, { known: { direction } }).feature.center,
    ])
      at.forEach((c, k) => {
        expect(c).toBeCloseTo(MOVE[k], 8);
      });
  });
});

describe('given values beside the fit with nothing given', () => {
  test('a caliper that agrees is said to', () => {
    const { known, warnings } = fitCylinder(bore, { known: { radius: { value: 11.002, uncertainty: 0.03 } } });
    expect(known).toHaveLength(1);
    const [radius] = known!;
    expect(radius.name).toBe('radius');
    expect(radius.given).toBe(11.002);
    expect(radius.free as number).toBeCloseTo(11, 2);
    expect(radius.difference).toBeCloseTo((radius.free as number) - 11.002, 12);
    // ± 0.03 is expanded: a standard uncertainty of 0.015, with next to nothing from 2,000 points.
    expect(radius.uncertainty).toBeGreaterThan(0.015);
    expect(radius.uncertainty).toBeLessThan(0.016);
    expect(radius.multiples).toBeLessThan(1);
    expect(warnings).toEqual([]);
  });

  test('past two multiples of the combined uncertainty there is a warning in words', () => {
    const { known, warnings, feature } = fitCylinder(bore, { known: { radius: { value: 11.2, uncertainty: 0.03 } } });
    expect(feature.radius).toBe(11.2);
    expect(known![0].multiples).toBeCloseTo(0.2 / 0.015, 0);
    expect(warnings.map(({ code }) => code)).toEqual(['known-disagrees']);
    expect(warnings[0].message).toMatch(
      /^The radius given, 11\.2 mm, and that of the points alone, (11|11\.00\d|10\.99\d?) mm, differ by 0\.\d+ mm: 13 times their combined standard/,
    );
  });

  test('a diameter given in a plan is spoken of as a diameter, no finer than its uncertainty', () => {
    const plan = checkPlan({
      version: 1,
      title: 'Bore',
      steps: [
        {
          step: 'fit',
          id: 'bore',
          shape: 'cylinder',
          to: 'all',
          known: { diameter: { value: 22.4, uncertainty: 0.06 } },
        },
      ],
    });
    const { warnings } = runPlan(plan, createScan({ ...bore, name: 'bore' })).sheet[0]!;
    expect(warnings.find(({ code }) => code === 'known-disagrees')!.message).toMatch(
      /^The diameter given, 22\.4 mm, and that of the points alone, (22|22\.00\d|21\.99\d) mm, differ by 0\.(40?|40\d|39\d) mm: 13 times their combined standard uncertainty of 0\.03\d? mm\./,
    );
  });

  test('just below two multiples nothing is said, just above it is', () => {
    const free = fitCylinder(bore);
    // The difference of two independent results: √(u₁² + u₂²), JCGM 100, 5.1.2.
    const combined = Math.hypot(standard(free.uncertainty.covariance, 4), 0.03 / 2);
    for (const [times, codes] of [
      [1.9, []],
      [-1.9, []],
      [2.1, ['known-disagrees']],
      [-2.1, ['known-disagrees']],
    ] as const) {
      const value = free.feature.radius - times * combined;
      const { known, warnings } = fitCylinder(bore, { known: { radius: { value, uncertainty: 0.03 } } });
      expect(known![0].multiples).toBeCloseTo(Math.abs(times), 2);
      expect(warnings.map(({ code }) => code)).toEqual(codes);
      if (warnings.length > 0)
        expect(warnings[0].message).toContain('2.1 times their combined standard uncertainty of 0.015');
    }
  });

  test('a datum that leans is told by its angle', () => {
    const leaning = fitCylinder(bore, { known: { direction: [0.01, 0, 1] } });
    expect(leaning.known![0].name).toBe('direction');
    expect(leaning.known![0].difference).toBeCloseTo(0.01, 3);
    expect(leaning.warnings.map(({ code }) => code)).toEqual(['known-disagrees']);
    expect(leaning.warnings[0].message).toMatch(/^The direction given and that of the points alone differ by 0\.5\d+°/);
  });

  test('where both are known to rounding, what differs is told without multiples of nothing', () => {
    const exact = { positions: pointsOf(200, aroundZ(seededRandom(26), 6, 360, 10, 0)) };
    const turned = fitCylinder(exact, { known: { direction: [0.2, 0, 1] } });
    expect(turned.warnings.find(({ code }) => code === 'known-disagrees')!.message).toMatch(
      /^The direction given and that of the points alone differ by 11\.31°, far more than their uncertainties allow\. Measure again/,
    );
    const larger = fitCylinder(exact, { known: { radius: 6.5 } });
    expect(larger.warnings.find(({ code }) => code === 'known-disagrees')!.message).toMatch(
      /^The radius given, 6\.5 mm, and that of the points alone, 6 mm, differ by 0\.5 mm, far more than their uncertainties allow\. /,
    );
  });

  test('the plane a circle is fitted in', () => {
    const ring = { positions: pointsOf(500, aroundZ(seededRandom(25), 6, 360, 0.05, 0.02)) };
    const value = { kind: 'plane', point: [0, 0, 8], normal: [0.05, 0, 1] } as const;
    const { known, feature } = fitCircle(ring, { known: { plane: { value, uncertainty: 0.002 } } });
    expect(angleBetween(feature.normal, value.normal)).toBeLessThan(1e-12);
    expect(known![0].name).toBe('plane');
    expect(known![0].difference).toBeCloseTo(Math.atan(0.05), 2);
    expect(known![0].multiples).toBeGreaterThan(2);
  });

  test('points that determine nothing alone cannot check what is given', () => {
    const few = { positions: pointsOf(3, (i) => [11 * Math.cos(i), 11 * Math.sin(i), i]) };
    const { known, warnings } = fitCylinder(few, { known: { direction: z } });
    expect(known).toEqual([]);
    expect(warnings.map(({ code }) => code)).toContain('known-unchecked');
  });

  test('without known values there is nothing to compare', () => {
    expect(fitCylinder(bore).known).toBeUndefined();
  });
});

describe('given values weighed against the points', () => {
  const free = fitCylinder(sector);
  const spread = standard(free.uncertainty.covariance, 4);

  test('two results of one radius meet by their uncertainties', () => {
    // Weighted mean of two results, weights 1/u²: JCGM 100 and any text on statistics.
    for (const uncertainty of [0.02, 2 * spread, 2]) {
      const value = free.feature.radius + 2 * spread;
      const fit = fitCylinder(sector, { known: { radius: { value, uncertainty, prior: true } } });
      const [own, given] = [1 / spread ** 2, 1 / (uncertainty / 2) ** 2];
      const expected = (own * free.feature.radius + given * value) / (own + given);
      expect(Math.abs(fit.feature.radius - expected)).toBeLessThan(0.03 * spread);
      expect(standard(fit.uncertainty.covariance, 4)).toBeCloseTo(1 / Math.sqrt(own + given), 2);
      expect(fit.known![0].prior).toBe(true);
    }
  });

  test('a sure prior is as good as a given value, a vague one as none', () => {
    const at = (uncertainty: number) =>
      fitCylinder(sector, { known: { radius: { value: 11.3, uncertainty, prior: true } } }).feature;
    const given = fitCylinder(sector, { known: { radius: 11.3 } }).feature;
    expect(at(1e-6).radius).toBeCloseTo(11.3, 6);
    expect(at(1e-6).point[0]).toBeCloseTo(given.point[0], 5);
    expect(at(1e4).radius).toBeCloseTo(free.feature.radius, 6);
    expect(at(1e4).point[0]).toBeCloseTo(free.feature.point[0], 6);
  });

  test('a direction drawn to a datum stays between datum and points', () => {
    const short = { positions: pointsOf(2000, aroundZ(seededRandom(26), 11, 360, 1, 0.05)) };
    const datum: Vec3 = [0, 0.004, 1];
    const own = fitCylinder(short).feature.direction;
    const { feature } = fitCylinder(short, { known: { direction: { value: datum, uncertainty: 0.004, prior: true } } });
    expect(angleBetween(feature.direction, datum)).toBeLessThan(angleBetween(own, datum));
    expect(angleBetween(feature.direction, own)).toBeLessThan(angleBetween(own, datum));
  });

  test('a value that stands as given carries its own error into what goes with it', () => {
    // On a 40° arc the center moves with the radius: by R for R, to first order against 1/cos of the half arc.
    const sure = fitCylinder(sector, { known: { radius: 11 } }).uncertainty.covariance;
    const unsure = fitCylinder(sector, { known: { radius: { value: 11, uncertainty: 0.2 } } }).uncertainty.covariance;
    const place = (c: Float64Array): number => Math.hypot(standard(c, 0), standard(c, 1));
    expect(standard(sure, 4)).toBe(0);
    expect(standard(unsure, 4)).toBeCloseTo(0.1, 12);
    expect(Math.sqrt(place(unsure) ** 2 - place(sure) ** 2)).toBeCloseTo(0.1, 2);
  });
});

test('a start by hand changes nothing', () => {
  const cone = { positions: pointsOf(500, onCone(seededRandom(27), 9, 20, 10, 0.05)) };
  const own = fitCone(cone);
  const initial = { ...own.feature, halfAngle: own.feature.halfAngle + 0.05, apex: [101, -40, -14] as Vec3 };
  const { feature, converged } = fitCone(cone, { initial });
  expect(converged).toBe(true);
  expect(feature.halfAngle).toBeCloseTo(own.feature.halfAngle, 12);
  feature.apex.forEach((c, k) => {
    expect(c).toBeCloseTo(own.feature.apex[k], 10);
  });
});

describe('signs', () => {
  const floor = pointsOf(400, onFloor(seededRandom(28), 40, 30, 0.02));

  test('a normal points where the points\u2019 own normals do', () => {
    for (const side of [1, -1]) {
      const normals = new Float32Array(floor.length).map((_, i) => (i % 3 === 2 ? side : 0));
      expect(Math.sign(fitPlane({ positions: floor, normals }).feature.normal[2])).toBe(side);
      const half = Uint32Array.from({ length: 200 }, (_, i) => i);
      expect(Math.sign(fitPlane({ positions: floor, normals, select: half }).feature.normal[2])).toBe(side);
    }
  });

  test('without normals the largest component is positive', () => {
    expect(fitPlane({ positions: floor }).feature.normal[2]).toBeGreaterThan(0.99);
    expect(fitCylinder(bore).feature.direction[2]).toBeGreaterThan(0.99);
  });

  test('residuals are positive on the normal\u2019s side and outside', () => {
    const raised = floor.slice();
    raised[2] += 5;
    expect(fitPlane({ positions: raised }).residuals[0]).toBeGreaterThan(4);
    expect(fitPlane({ positions: raised }, { known: { direction: [0, 0, -1] } }).residuals[0]).toBeLessThan(-4);
    const wide = bore.positions.slice();
    wide[0] = 100 + (wide[0] - 100) * 1.5;
    wide[1] = -40 + (wide[1] + 40) * 1.5;
    expect(fitCylinder({ positions: wide }).residuals[0]).toBeGreaterThan(4);
  });
});

test('a result is frozen, its parts agree, and reading it twice gives the same', () => {
  const select = Uint32Array.from({ length: 500 }, (_, i) => 3 * i);
  const fit = fitCylinder({ ...bore, select });
  expect(Object.isFrozen(fit) && Object.isFrozen(fit.feature)).toBe(true);
  expect(fit.used).toEqual(select);
  expect(fit.count).toBe(500);
  expect(fit.residuals).toHaveLength(500);
  expect(fit.rms).toBeCloseTo(Math.sqrt(fit.residuals.reduce((s, r) => s + r * r, 0) / 500), 12);
  expect(fit.form).toBeCloseTo(Math.max(...fit.residuals) - Math.min(...fit.residuals), 12);
  expect(fit.max).toBe(Math.max(...fit.residuals.map(Math.abs)));
  expect(fit.uncertainty).toBe(fit.uncertainty);
  expect(fitCylinder({ ...bore, select })).toEqual(fit);
  expect(fitCylinder(bore).used).toEqual(Uint32Array.from({ length: 2000 }, (_, i) => i));
});
