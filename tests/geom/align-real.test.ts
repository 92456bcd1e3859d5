import { alignScan, type Scan, seededRandom } from '@fettle/geom';
import { openScan } from '@fettle/io/node';
import { describe, expect, test } from 'vitest';
import { anyPose, offTruth, posed, under } from './align-bodies.js';

const fixture = (name: string) => openScan(new URL(`../fixtures/${name}`, import.meta.url).pathname);

/** The points for which a condition on x holds. */
function part(scan: Scan, holds: (x: number) => boolean, name: string): Scan {
  const kept: number[] = [];
  for (let i = 0; i < scan.positions.length; i += 3)
    if (holds(scan.positions[i]!)) kept.push(...scan.positions.subarray(i, i + 3));
  return { positions: Float64Array.from(kept), units: 'mm', name };
}

describe('views of a room by a depth camera, noise of several millimeters', () => {
  // Moves of the one onto the other, rows: where they come from, `tests/fixtures/README.md`. They can be trusted to 2 mm and 0.05°.
  const pairs = [
    {
      fixed: 'room-view.ply.gz',
      moving: 'room-2.ply.gz',
      rows: [
        [0.9997708604198623, 0.010276878158748871, 0.01877797727739805, -103.20453639633757],
        [-0.010233293160742974, 0.9999447205513188, -0.002415688850545888, 6.403258415887374],
        [-0.01880176498115313, 0.0022229747741710883, 0.9998207599448707, 5.143869739290591],
      ],
    },
    {
      fixed: 'room-4.ply.gz',
      moving: 'room-5.ply.gz',
      rows: [
        [0.9998910607788716, -0.013563837935697343, 0.005821415201707273, -172.51583904362],
        [0.013564797174767843, 0.9999079860524634, -0.0001253239763453798, -4.078206527515785],
        [-0.005819179676210792, 0.00020427664013062207, 0.9999830475657788, 23.252297909788886],
      ],
    },
  ] as const;

  test.each(pairs)('$moving on $fixed from any pose, to 15 mm and 0.5°', { timeout: 300_000 }, async (pair) => {
    const [fixed, moving] = await Promise.all([fixture(pair.fixed), fixture(pair.moving)]);
    const rows = Float64Array.from({ length: 16 }, (_, k) => pair.rows[k % 4]?.[k >> 2] ?? (k === 15 ? 1 : 0));
    const pose = anyPose(seededRandom(3), 2000);
    // Where the scan's places come to by the reference move is where they should come to from the pose.
    const { move } = alignScan(posed(posed(moving, rows), pose), fixed);
    const [mm, degrees] = offTruth(move.matrix, pose, [0, 0, 2000]);
    expect(mm).toBeLessThan(15);
    expect(degrees).toBeLessThan(0.5);
  });
});

test('halves of the table with the mug, one in another pose, come together to 0.1 mm', {
  timeout: 300_000,
}, async () => {
  const whole = await fixture('table-mug.ply');
  const sorted = whole.positions.filter((_, k) => k % 3 === 0).sort();
  const [low, high] = [0.25, 0.75].map((share) => sorted[Math.floor(share * sorted.length)]!);
  const left = part(whole, (x) => x < high!, 'left.ply');
  const right = part(whole, (x) => x > low!, 'right.ply');
  const pose = anyPose(seededRandom(1));
  const { move } = alignScan(posed(right, pose), left);
  for (const corner of [
    [-200, -100, 800],
    [200, 200, 1200],
  ] as const) {
    const [x, y, z] = under(move.matrix, under(pose, corner));
    expect(Math.hypot(x - corner[0], y - corner[1], z - corner[2])).toBeLessThan(0.1);
  }
});
