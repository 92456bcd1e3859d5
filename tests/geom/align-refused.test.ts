import { AlignmentError, alignScan, type Scan, seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';
import { anyPose, bracket, posed, scanOf } from './align-bodies.js';

const first = scanOf(bracket(), 'first.ply', { density: 0.6 });
const next = posed(scanOf(bracket(), 'x', { density: 0.5, seed: 2 }), anyPose(seededRandom(4)));

function refusal(scan: Scan): AlignmentError {
  try {
    alignScan(scan, first);
  } catch (error) {
    if (error instanceof AlignmentError) return error;
    throw error;
  }
  throw new Error('it was laid');
}

test.each([25.4, 1000, 1 / 25.4])(
  'a scan %d times as large is refused, and its unit told',
  { timeout: 120_000 },
  (by) => {
    const error = refusal({ ...next, positions: next.positions.map((x) => by * x) });
    expect(error.code).toBe('no-alignment');
    expect(error.scale! * by).toBeCloseTo(1, 9);
    expect(error.message).toMatch(/next\.ply does not fit first\.ply as it is, but would at .* times its size/);
  },
);

test('a mirror image is refused, and named', { timeout: 120_000 }, () => {
  const turn = (x: number, k: number) => (k % 3 === 0 ? -x : x);
  const error = refusal({ ...next, positions: next.positions.map(turn), normals: next.normals!.map(turn) });
  expect(error.code).toBe('no-alignment');
  expect(error.message).toMatch(/next\.ply is a mirror image of first\.ply/);
});
