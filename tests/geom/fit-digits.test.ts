/** Points written with few digits, as a touch probe's list is. */
import { fitCylinder, fitPlane, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onFloor, pointsOf } from './fit-surfaces.js';

const COUNT = 1000;
const OWN = 700;
const own = Uint32Array.from({ length: OWN }, (_, i) => i);

/** A face with strays up to 3 mm above it; coordinates cut to whole numbers of `step`. */
function listed(noise: number, step: number): { positions: Float64Array } {
  const random = seededRandom(60);
  const face = onFloor(random, 40, 20, noise);
  const cut = (c: number): number => step * Math.round(c / step);
  return {
    positions: pointsOf(COUNT, (i): Vec3 => {
      const [x, y, z] = face();
      return [cut(x), cut(y), cut(i < OWN ? z : 0.3 + 2.7 * random.next())];
    }),
  };
}

describe('points written with few digits', () => {
  // Of 0.05 mm of noise, 68 % round to 0 in steps of 0.1 mm: half of all residuals and more are 0.
  test.each([
    [0.05, 0.1],
    [0.03, 0.1],
    [0.01, 0.0254],
  ])('noise of %d mm in steps of %d mm: none of the surface is left out, and the strays are', (noise, step) => {
    const points = listed(noise, step);
    for (const options of [{ robust: true }, { reject: 3 }, { reject: 3, robust: false }]) {
      const { used, rms } = fitPlane(points, options);
      expect(used!.filter((i) => i < OWN).length).toBeGreaterThan(0.99 * OWN);
      expect(used!.filter((i) => i >= OWN).length).toBeLessThan(5);
      expect(rms).toBeCloseTo(fitPlane({ ...points, select: own }).rms, 2);
    }
  });

  test('digits that cut off more than the noise are told', () => {
    const told = (noise: number, step: number) => fitPlane({ ...listed(noise, step), select: own }).warnings;
    for (const noise of [0.01, 0.03])
      expect(told(noise, 0.1)).toEqual([
        {
          code: 'few-digits',
          message: expect.stringMatching(
            /^All coordinates are whole numbers of 0\.1 mm, more than the points scatter about the plane \(0(\.0\d+)? mm rms\): up to half of that is lost in each, and is not in the ±\. Write the points with more digits\.$/,
          ),
        },
      ]);
    expect(told(0.1, 0.1)).toEqual([]);
    expect(told(0.03, 0.01)).toEqual([]);
  });

  test('a pattern of points is not taken for digits', () => {
    // A scanner's columns and rows, 0.1 mm apart; heights are as they are.
    const random = seededRandom(61);
    const positions = pointsOf(COUNT, (i) => [0.1 * (i % 40), 0.1 * Math.floor(i / 40), 0.005 * random.normal()]);
    const stray = positions.slice();
    stray[3 * 17 + 2] = 0.1;
    expect(fitPlane({ positions: stray }, { robust: true })).toMatchObject({ warnings: [] });
    expect(Array.from(fitPlane({ positions: stray }, { robust: true }).rejected)).toContain(17);
    const bore = aroundZ(random, 11, 360, 20, 0.001);
    expect(fitCylinder({ positions: pointsOf(COUNT, bore) }).warnings).toEqual([]);
  });
});
