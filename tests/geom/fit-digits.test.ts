/** Points written with few digits, as a touch probe's list is. */
import {
  expanded,
  expandedNumber,
  fitCircle,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSlot,
  type Plane,
  propagate,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onFloor, pointsOf } from './fit-surfaces.js';
import { slotPoint } from './outline-cases.js';

const COUNT = 1000;
const OWN = 700;
const own = Uint32Array.from({ length: OWN }, (_, i) => i);

/** A face with strays up to 3 mm above it; coordinates cut to whole numbers of `step`. */
function listed(noise: number, step: number, { slope = 0, x0 = 0 } = {}): { positions: Float64Array } {
  const random = seededRandom(60);
  const face = onFloor(random, 40, 20, noise);
  const cut = (c: number): number => step * Math.round(c / step);
  return {
    positions: pointsOf(COUNT, (i): Vec3 => {
      const [x, y, z] = face();
      return [cut(x + x0), cut(y), cut(slope * x + (i < OWN ? z : 0.3 + 2.7 * random.next()))];
    }),
  };
}
const inSinglePrecision = ({ positions }: { positions: Float64Array }) => ({
  positions: Float64Array.from(Float32Array.from(positions)),
});

describe('points written with few digits', () => {
  // Of 0.05 mm of noise, 68 % round to 0 in steps of 0.1 mm: more than half of all residuals are 0.
  test.each([
    ['0.1 mm', listed(0.05, 0.1)],
    ['0.1 mm, much less noise', listed(0.03, 0.1)],
    ['a thousandth of an inch', listed(0.01, 0.0254)],
    ['0.01 mm, far from the origin', listed(0.005, 0.01, { x0: 1100 })],
    ['0.001 mm', listed(0.0005, 0.001, { x0: 120 })],
    ['0.01 mm, in single precision', inSinglePrecision(listed(0.005, 0.01, { x0: 500 }))],
  ])('%s: none of the surface is left out, and the strays are', (_, points) => {
    for (const options of [{ robust: true }, { reject: 3 }, { reject: 3, robust: false }]) {
      const { used, rms } = fitPlane(points, options);
      expect(used!.filter((i) => i < OWN).length).toBeGreaterThan(0.99 * OWN);
      expect(used!.filter((i) => i >= OWN).length).toBeLessThan(5);
      expect(rms / fitPlane({ ...points, select: own }).rms - 1).toBeLessThan(0.3);
    }
  });

  test('digits that cut off more than the noise are told where all points round alike', () => {
    const told = (...list: Parameters<typeof listed>) => fitPlane({ ...listed(...list), select: own }).warnings;
    expect(told(0.03, 0.1)).toEqual([
      {
        code: 'few-digits',
        message: expect.stringMatching(
          /^The points' z come in steps of 0\.1 mm, more than they scatter about the plane \(0\.0\d+ mm rms\)\. As it runs along x and y, up to half a step may have been cut off from all of them alike: that much is in the ±\. Write the points with more digits\.$/,
        ),
      },
    ]);
    expect(told(0.1, 0.1)).toEqual([]);
    expect(told(0.03, 0.01)).toEqual([]);
    // Across many steps the rounding is one of noise, and shows.
    expect(told(0.03, 0.1, { slope: 0.02 })).toEqual([]);
    const bore = aroundZ(seededRandom(62), 11, 360, 20, 0.001);
    const cut = pointsOf(COUNT, bore).map((c) => Math.round(10 * c) / 10);
    expect(fitCylinder({ positions: cut }).warnings).toEqual([]);
  });

  test('neither a pattern of points nor exact ones are taken for digits', () => {
    // A scanner's columns and rows, 0.1 mm apart; heights are as they are.
    const random = seededRandom(61);
    const pattern = (z: (i: number) => number): Float64Array =>
      pointsOf(COUNT, (i) => [0.1 * (i % 40), 0.1 * Math.floor(i / 40), z(i)]);
    const noisy = pattern(() => 0.005 * random.normal());
    noisy[3 * 17 + 2] += 0.1;
    const { warnings, rejected } = fitPlane({ positions: noisy }, { robust: true });
    expect(warnings).toEqual([]);
    expect(Array.from(rejected)).toContain(17);
    const flat = fitPlane({ positions: pattern(() => 5) });
    const exact = fitPlane({ positions: pattern((i) => (i % 100 === 7 ? 5.09 : 5)) }, { robust: true });
    expect(exact.rejected).toHaveLength(10);
    expect(exact.feature.point[2]).toBeCloseTo(flat.feature.point[2], 12);
  });
});

/** Cut to whole hundredths. */
const hundredths = (c: number): number => Math.round(100 * c) / 100;
/** Rounding to steps of s is a rectangular error: standard uncertainty s/√12 (JCGM 100, F.2.2.1). */
const RECTANGULAR = 0.01 / Math.sqrt(12);

/** Where they are made, unlike {@link pointsOf}. */
const listOf = (count: number, make: (i: number) => Vec3): Float64Array =>
  Float64Array.from(Array.from({ length: count }, (_, i) => make(i)).flat());

describe('digits that were cut off from all points alike are in the ±', () => {
  const codes = ({ warnings }: { warnings: readonly { code: string }[] }) => warnings.map(({ code }) => code);

  test('slots along an axis, less noise than a digit: nothing is rejected, and width and place hold', () => {
    const plane: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
    const held = [0, 0];
    for (let trial = 0; trial < 40; trial++) {
      const random = seededRandom(700 + trial);
      const width = 12 + 0.02 * random.next();
      const middle = 0.02 * random.next();
      const positions = listOf(600, (i): Vec3 => {
        const { at, normal } = slotPoint(30, width, (i + random.next()) / 600);
        const d = 0.002 * random.normal();
        return [hundredths(at[0] + d * normal[0]), hundredths(at[1] + middle + d * normal[1]), 0];
      });
      const fit = fitSlot({ positions }, { plane, reject: 3.5 });
      expect(fit.rejected.length).toBeLessThan(6);
      expect(codes(fit)).toContain('few-digits');
      const standard = (p: number): number => Math.sqrt(fit.uncertainty.covariance[6 * p]!);
      expect(standard(4)).toBeLessThan(0.01);
      if (Math.abs(fit.feature.width - width) < 2 * standard(4)) held[0]++;
      if (Math.abs(fit.feature.center[1] - middle) < 2 * standard(1)) held[1]++;
    }
    expect(Math.min(...held)).toBeGreaterThanOrEqual(37);
  });

  const random = seededRandom(71);
  const across = (): number => 40 * random.next() - 20;
  const alike = listOf(500, (): Vec3 => [hundredths(across()), hundredths(across()), 12]);

  test('a face whose points share one coordinate', () => {
    const fit = fitPlane({ positions: alike });
    expect(codes(fit)).toEqual(['few-digits']);
    const [shift, , , , tilt] = fit.uncertainty.covariance;
    expect(Math.sqrt(shift!)).toBeCloseTo(RECTANGULAR, 6);
    // Half a step at the farthest point.
    expect(Math.sqrt(tilt!) * fit.uncertainty.reach).toBeCloseTo(RECTANGULAR, 6);
    expect(codes(fitPlane({ positions: alike }, { reject: 3 }))).toEqual(['few-digits']);
  });

  test('a line along an axis, and a circle in a plane along two', () => {
    const line = fitLine({ positions: listOf(200, (): Vec3 => [hundredths(across()), 3, 12]) });
    expect(codes(line)).toEqual(['few-digits']);
    for (const p of [0, 1]) expect(Math.sqrt(line.uncertainty.covariance[5 * p]!)).toBeCloseTo(RECTANGULAR, 6);
    const circle = fitCircle({
      positions: listOf(200, (i): Vec3 => [hundredths(10 * Math.cos(i)), hundredths(10 * Math.sin(i)), 12]),
    });
    expect(Math.sqrt(circle.uncertainty.covariance[14]!)).toBeCloseTo(RECTANGULAR, 6);
    expect(Math.sqrt(circle.uncertainty.covariance[21]!) * circle.uncertainty.reach).toBeCloseTo(RECTANGULAR, 6);
  });

  test('where nothing tells the digits it is said that the ± holds none, unless the scanner’s accuracy is stated', () => {
    const positions = listOf(500, (): Vec3 => [across(), across(), 12]);
    const [warning] = fitPlane({ positions }).warnings;
    expect(warning?.code).toBe('few-digits');
    expect(warning?.message).toMatch(
      /^All points have the same z: measured points scatter.* The ± of the plane is not known\./,
    );
    expect(codes(fitPlane({ positions }, { scanner: { accuracy: 0.02 } }))).toEqual([]);
    expect(codes(fitPlane({ positions: positions.slice(0, 12) }))).toEqual(['few-digits']);
  });

  test.each([4, 5, 8, 12, 20, 40])('%d points that share a coordinate have no ± of 0: it is unknown', (count) => {
    // JCGM 100, F.2.2.1: what an indication cannot resolve is an error as well; where its step is not seen it has no bound.
    const own = seededRandom(count);
    const within = (): number => 40 * own.next() - 20;
    for (const [shared, round] of [
      [12, (c: number) => c],
      [0.1, (c: number) => c],
      [1000.1, Math.round],
    ] as const) {
      const positions = listOf(count, (): Vec3 => [shared, round(within()), round(within())]);
      const fit = fitPlane({ positions });
      expect(codes(fit)).toEqual(['few-digits']);
      const { position, direction } = expanded(fit.uncertainty);
      expect(position.value).toBe(Infinity);
      expect(direction!.value).toBe(Infinity);
      const distance = propagate((p: Plane) => p.point[0], [fit]).uncertainty;
      expect(expandedNumber(distance).value).toBe(Infinity);
      const line = fitLine({ positions: positions.map((c, i) => (i % 3 === 2 ? 7 : c)) });
      expect(codes(line)).toEqual(['few-digits']);
      expect(expanded(line.uncertainty).position.value).toBe(Infinity);
      const stated = expanded(fitPlane({ positions }, { scanner: { accuracy: 0.02 } }).uncertainty).position.value;
      expect(stated).toBeGreaterThan(0.02);
      expect(stated).toBeLessThan(0.2);
    }
  });
});
