import { alignScan, createScan, motionOfPairs, seededRandom } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { anyPose, bracket, offTruth, posed, scanOf, under } from './align-bodies.js';

describe('the rotation of exact pairs (Kabsch)', () => {
  test.each([3, 4, 50])('%d pairs give back the move to 1e-12', (count) => {
    const random = seededRandom(count);
    for (let draw = 0; draw < 50; draw++) {
      const pose = anyPose(random, 1);
      const from = Float64Array.from({ length: 3 * count }, () => random.normal());
      const to = new Float64Array(from.length);
      for (let i = 0; i < from.length; i += 3) to.set(under(pose, [from[i]!, from[i + 1]!, from[i + 2]!]), i);
      const { r, t } = motionOfPairs(from, to);
      for (let i = 0; i < 3; i++) {
        for (let j = 0; j < 3; j++) expect(Math.abs(r[3 * i + j]! - pose[i + 4 * j]!)).toBeLessThan(1e-12);
        expect(Math.abs(t[i]! - pose[12 + i]!)).toBeLessThan(1e-12);
      }
    }
  });

  test('pairs in a mirror give a rotation, never a mirror', () => {
    const random = seededRandom(7);
    const from = Float64Array.from({ length: 30 }, () => random.normal());
    const { r } = motionOfPairs(
      from,
      from.map((x, k) => (k % 3 === 2 ? -x : x)),
    );
    const [a, b, c, d, e, f, g, h, i] = r as unknown as number[];
    const determinant = a! * (e! * i! - f! * h!) - b! * (d! * i! - f! * g!) + c! * (d! * h! - e! * g!);
    expect(determinant).toBeCloseTo(1, 12);
  });

  test('pairs along a line are refused: a turn about it is open', () => {
    const line = Float64Array.of(0, 0, 0, 1, 1, 1, 2, 2, 2);
    expect(() => motionOfPairs(line, line)).toThrow(/turn about it open/);
  });
});

describe('the fine step', () => {
  test('the very same points in another pose come back to the last digits, whatever the pose', () => {
    const first = scanOf(bracket(), 'first.ply', { density: 0.8 });
    const pose = anyPose(seededRandom(11));
    const { move, converged, share, rms } = alignScan(posed(first, pose), first);
    const [mm, degrees] = offTruth(move.matrix, pose, [50, 30, 20]);
    expect(converged).toBe(true);
    expect(mm).toBeLessThan(1e-9);
    expect(degrees).toBeLessThan(1e-9);
    expect(share).toBeGreaterThan(0.85);
    expect(rms).toBeLessThan(1e-9);
  });

  test('toReference, toScan and matrix are one move', () => {
    const first = scanOf(bracket(), 'first.ply', { density: 0.5 });
    const pose = anyPose(seededRandom(12));
    const { move } = alignScan(posed(first, pose), first);
    const to = move.toReference(under(pose, [10, 20, 30]));
    const by = under(move.matrix, under(pose, [10, 20, 30]));
    const back = move.toScan([10, 20, 30]);
    const expected = under(pose, [10, 20, 30]);
    for (let k = 0; k < 3; k++) {
      expect(to[k]).toBeCloseTo([10, 20, 30][k]!, 8);
      expect(by[k]).toBeCloseTo(to[k]!, 10);
      expect(back[k]).toBeCloseTo(expected[k]!, 8);
    }
  });

  test('the covariance of the move is what fresh noise makes of it', { timeout: 240_000 }, () => {
    // Monte Carlo: 10 scans with white noise of their own, each laid on the first. The mean of the squared errors over their variances
    // is chi-squared over its 60 degrees of freedom, ten draws of six: 99.98 % lie within 0.44 and 1.83 (Wilson & Hilferty).
    const truth = scanOf(bracket(), 'truth.ply', { density: 0.6, noise: 0, seed: 1 });
    let sum = 0;
    const draws = 10;
    for (let k = 0; k < draws; k++) {
      const random = seededRandom(100 + k);
      const scan = scanOf(bracket(), 'next.ply', { density: 0.4, noise: 0.05, seed: 50 + k });
      const pose = anyPose(random);
      const { move, uncertainty } = alignScan(posed(scan, pose), truth);
      const { at, covariance } = uncertainty;
      const moved = under(move.matrix, under(pose, at));
      const shift = [0, 1, 2].map((c) => moved[c]! - at[c]!);
      const turn = [
        [2, 1],
        [0, 2],
        [1, 0],
      ].map(([i, j]) => {
        let c = 0;
        for (let q = 0; q < 3; q++) c += move.matrix[i! + 4 * q]! * pose[q + 4 * j!]!;
        return c;
      });
      const errors = [...shift, ...turn];
      errors.forEach((error, p) => {
        sum += error ** 2 / covariance[7 * p]!;
      });
    }
    const ratio = sum / (6 * draws);
    expect(ratio).toBeGreaterThan(0.44);
    expect(ratio).toBeLessThan(1.83);
  });
});

test('a scan of three points says how little it is', () => {
  const three = createScan({ positions: [0, 0, 0, 10, 0, 0, 0, 10, 0], name: 'three.xyz' });
  expect(() => alignScan(three, scanOf(bracket(), 'first.ply', { density: 0.5 }))).toThrow(
    /three\.xyz: 3 points make . pieces of surface, too few to tell where they belong/,
  );
});
