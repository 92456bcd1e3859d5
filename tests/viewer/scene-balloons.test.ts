import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BALLOON_RADIUS, type Balloon, balloonsOf, layBalloons } from '../../packages/viewer/src/scene/balloons.js';
import type { Rig } from '../../packages/viewer/src/scene/rig.js';
import type { RunView, StepView } from '../../packages/viewer/src/worker/protocol.js';

const RIG: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width: 900, height: 600 };

const places = fc.array(
  fc.tuple(
    fc.double({ min: -600, max: 600, noNaN: true }),
    fc.double({ min: -400, max: 400, noNaN: true }),
    fc.double({ min: -50, max: 50, noNaN: true }),
  ),
  { minLength: 1, maxLength: 30 },
);
const asBalloons = (at: readonly (readonly [number, number, number])[]): Balloon[] =>
  at.map((one, i) => ({ id: `f-${i + 1}`, number: i + 1, at: one }));

describe('balloons over the scan', () => {
  test('never lie over another and stay in the picture, wherever their places are', () => {
    fc.assert(
      fc.property(places, (at) => {
        const laid = layBalloons(asBalloons(at), RIG);
        laid.forEach(({ center: [x, y] }, i) => {
          expect(Math.min(x, y, RIG.width - x, RIG.height - y)).toBeGreaterThanOrEqual(BALLOON_RADIUS);
          for (const { center } of laid.slice(i + 1))
            expect(Math.hypot(x - center[0], y - center[1])).toBeGreaterThan(2 * BALLOON_RADIUS);
        });
      }),
      { numRuns: 30 },
    );
  });

  test('are all there whose place is in the picture, even where thirty share one place', () => {
    const laid = layBalloons(asBalloons(Array.from({ length: 30 }, () => [10, 10, 0] as const)), RIG);
    expect(laid.map(({ number }) => number)).toEqual(Array.from({ length: 30 }, (_, i) => i + 1));
  });

  test('are left out where their place is not in the picture', () => {
    const laid = layBalloons(
      asBalloons([
        [0, 0, 0],
        [451, 0, 0],
        [0, -301, 0],
      ]),
      RIG,
    );
    expect(laid.map(({ id }) => id)).toEqual(['f-1']);
    expect(laid[0]!.anchor).toEqual([450, 300]);
  });
});

describe('what has a balloon', () => {
  const row = (balloon: number): NonNullable<StepView['row']> => ({
    balloon,
    id: 'a',
    step: 'fit',
    what: 'plane',
    values: [],
    frame: 'scan',
    warnings: [],
  });
  const run = (...steps: StepView[]): RunView => ({ steps, passed: true, warnings: [] });

  test('a row with a place: a feature at its anchor, a distance halfway', () => {
    const found = balloonsOf(
      run(
        { id: 'skin', step: 'region', count: 3 },
        { id: 'top', step: 'fit', row: row(1), drawn: { anchor: [1, 2, 3], lines: [] } },
        {
          id: 'apart',
          step: 'measure',
          row: row(2),
          between: [
            [0, 0, 0],
            [10, 20, 30],
          ],
        },
        { id: 'datum', step: 'frame', row: row(3) },
      ),
    );
    expect(found).toEqual([
      { id: 'top', number: 1, at: [1, 2, 3] },
      { id: 'apart', number: 2, at: [5, 10, 15] },
    ]);
  });
});
