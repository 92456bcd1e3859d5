import { AlignmentError, alignScan, type Scan, seededRandom } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { freshScan, pumpBody } from '../bench/fresh-scans.js';
import { offTruth } from './align-bodies.js';

const middle = [214, -87, 600] as const;

const failure = (work: () => unknown): AlignmentError => {
  try {
    work();
  } catch (error) {
    if (error instanceof AlignmentError) return error;
    throw error;
  }
  throw new Error('no error');
};

const mirrored = (scan: Scan): Scan => {
  const triangles = scan.triangles!.slice();
  for (let t = 0; t < triangles.length; t += 3) triangles.subarray(t, t + 3).reverse();
  return { ...scan, positions: scan.positions.map((v, k) => (k % 3 === 0 ? -v : v)), triangles, name: 'mirror.ply' };
};

const scaled = (scan: Scan, by: number): Scan => ({ ...scan, positions: scan.positions.map((v) => v * by) });

describe('fresh scans of the pump', () => {
  const body = pumpBody(60_000);
  const reference = freshScan(body, seededRandom(1), { share: 1 }).scan;

  test.each([1, 2])('draw %d of a part of it comes to 0.1 mm and 0.02°', { timeout: 240_000 }, (seed) => {
    const random = seededRandom(1000 + seed);
    const { scan, pose } = freshScan(body, random, { share: 0.5 + 0.5 * random.next(), strays: 0.02, moved: true });
    const [mm, degrees] = offTruth(alignScan(scan, reference).move.matrix, pose, middle);
    expect(mm).toBeLessThan(0.1);
    expect(degrees).toBeLessThan(0.02);
  });

  test('its mirror image is refused, and named', { timeout: 240_000 }, () => {
    const { scan } = freshScan(body, seededRandom(5), { share: 1, moved: true });
    const error = failure(() => alignScan(mirrored(scan), reference));
    expect(error.code).toBe('no-alignment');
    expect(error.message).toMatch(/mirror\.ply is a mirror image/);
    expect(error.share).toBeGreaterThan(0);
  });

  test.each([25.4, 0.97])('made %d times as large it is refused, and the scale told', { timeout: 240_000 }, (by) => {
    const { scan } = freshScan(body, seededRandom(6), { share: 1, moved: true });
    const error = failure(() => alignScan(scaled(scan, by), reference));
    expect(error.code).toBe('no-alignment');
    expect(error.scale! * by).toBeGreaterThan(0.998);
    expect(error.scale! * by).toBeLessThan(1.002);
    expect(error.message).toMatch(/would at .* times its size/);
  });
});
