import { AlignmentError, alignScan, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import {
  anyPose,
  box,
  cube,
  cylinder,
  type Face,
  flange,
  offTruth,
  posed,
  scanOf,
  twoFeet,
  under,
} from './align-bodies.js';

/** The number of turns that lay each body on itself is the order of its rotation group (Coxeter, Regular Polytopes, 3.1 and 3.5). */
const bodies: readonly (readonly [string, () => Face[], turns: number, free: number, mark: Vec3])[] = [
  ['a plain flange of six holes', flange, 12, 0, [58, 9, 6]],
  ['a cube', cube, 24, 0, [25, 14, 5]],
  ['a plain cylinder', cylinder, 2, 1, [20, 0, 40]],
  ['two feet alike on a base', twoFeet, 2, 0, [50, 14, 30]],
];

const failure = (work: () => unknown): AlignmentError => {
  try {
    work();
  } catch (error) {
    if (error instanceof AlignmentError) return error;
    throw error;
  }
  throw new Error('no error');
};

describe.each(bodies)('%s', (_, faces, turns, free, mark) => {
  const first = scanOf(faces(), 'first.ply', { density: 1 });
  const pose = anyPose(seededRandom(4));
  const next = posed(scanOf(faces(), 'x', { density: 0.7, seed: 2 }), pose);

  test('names all its poses, and takes none of them', { timeout: 240_000 }, () => {
    const error = failure(() => alignScan(next, first));
    expect(error.code).toBe('ambiguous-alignment');
    expect(error.rivals).toHaveLength(turns);
    expect(error.free).toHaveLength(free);
    // Each of them lays the scan on the body, and no two are alike.
    const matrices = error.rivals.map(({ move }) => Array.from(move.matrix));
    const laid = matrices.map((m) => under(m, under(pose, mark)));
    for (const [k, p] of laid.entries()) {
      for (const q of laid.slice(0, k))
        if (free === 0) expect(Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2])).toBeGreaterThan(5);
      if (turns > 2) expect(Math.hypot(...p)).toBeCloseTo(Math.hypot(...mark), 0);
    }
    expect(error.message).toMatch(/next\.ply .*first\.ply.* Give a pair of places/);
  });

  test('one pair of places chooses', { timeout: 240_000 }, () => {
    const about: Vec3 = [mark[0] + 1, mark[1] - 1, mark[2] + 1];
    const { move, rivals } = alignScan(next, first, { near: [[under(pose, mark), about]] });
    const [mm, degrees] = offTruth(move.matrix, pose, [0, 0, 0]);
    expect(mm).toBeLessThan(0.05);
    expect(rivals).toHaveLength(turns - 1);
    // About a free axis the pair alone holds, 1 mm off at 20 mm; else the body does.
    expect(degrees).toBeLessThan(free > 0 ? 6 : 0.05);
  });
});

test('a plane alone is refused: it slides', () => {
  const plane = scanOf(box([0, 0, 0], [80, 50, 1], ['bottom', 'front', 'back', 'left', 'right']), 'plane.ply');
  const first = scanOf(twoFeet(), 'first.ply');
  const error = failure(() => alignScan(plane, first));
  expect(error.code).toBe('ambiguous-alignment');
  expect(error.free).toHaveLength(3);
  expect(error.message).toMatch(/plane\.ply shows one plane: .* Scan what stands out of the plane too/);
});
