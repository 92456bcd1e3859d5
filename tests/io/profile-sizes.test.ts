import type { Profile, ProfileLine, Vec2 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { profileSizes, toldByPoints } from '../../packages/io/src/drawing/profile-sizes.js';

/** A line of 10 mm whose place is known to a standard uncertainty, mm. */
function line(start: Vec2, end: Vec2, standard: number): ProfileLine {
  const point: Vec2 = [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2];
  const direction: Vec2 = [(end[0] - start[0]) / 10, (end[1] - start[1]) / 10];
  const covariance = Float64Array.of(standard ** 2, 0, 0, 1e-8);
  const shape = { kind: 'line', point, direction, covariance } as const;
  return { kind: 'line', shape, start, end, length: 10, from: 0, to: 20, rms: 0, max: 0 };
}

/** Two faces 7.8 mm apart that run opposite ways. */
const strip = (standard: number): Profile => ({
  closed: false,
  pieces: [line([0, 0], [10, 0], standard), line([10, 7.8], [0, 7.8], standard)],
  joins: [{ kind: 'gap', at: [10, 3.9], length: 7.8 } as unknown as Profile['joins'][number]],
  noise: 0.1,
  sigma: 0.1,
  constraints: [],
});

test('a width with a ± as large as itself is not drawn; with a smaller one it is', () => {
  // ± = 1.96 · √2 · standard.
  const drawn = (uncertainty: number) =>
    profileSizes(strip(uncertainty / (1.96 * Math.SQRT2)), toldByPoints).dimensions.map(({ text }) => text);
  expect(drawn(9.2)).toEqual([]);
  expect(drawn(7.9)).toEqual([]);
  expect(drawn(0.5)).toHaveLength(1);
  expect(drawn(0.5)[0]).toMatch(/^7\.8.* ± 0\.5/);
});
