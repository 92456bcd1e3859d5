import { boxRegion, checkPlan, type Plan, regionUnion, regionWithout, runPlan, type Scan } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { draftSteps, type Gesture } from '../../packages/viewer/src/choosing/draft-steps.js';

/** Points a millimeter apart on the floor, 40 by 40. */
const floor: Scan = {
  name: 'floor.xyz',
  units: 'mm',
  positions: Float64Array.from(Array.from({ length: 1600 }, (_, i) => [i % 40, Math.floor(i / 40), 0]).flat()),
};

const freeId = (word: string, besides: readonly string[]): string => {
  for (let k = 1; ; k++) if (!besides.includes(`${word}-${k}`)) return `${word}-${k}`;
};

/** A rectangle seen from above, as the box of the page draws it. */
const box = (x0: number, y0: number, x1: number, y1: number, takes = false): Gesture => ({
  takes,
  outline: {
    polygon: [
      [x0, y0, 5],
      [x1, y0, 5],
      [x1, y1, 5],
      [x0, y1, 5],
    ],
    along: [0, 0, -1],
  },
});

/** The points a list of gestures chooses, by the plan. */
function chosen(gestures: readonly Gesture[]): Uint32Array {
  const steps = draftSteps(gestures, freeId);
  const plan: Plan = checkPlan({ version: 1, title: 'Draft', steps });
  const outcome = runPlan(plan, floor).outcomes.find(({ id }) => id === steps.at(-1)!.id);
  if (outcome?.kind !== 'region') throw new Error('no region');
  return outcome.select;
}
/** The same by the library's own boxes, a little wider so that no point lies on a side. */
const inBox = (x0: number, y0: number, x1: number, y1: number): Uint32Array =>
  boxRegion(floor, { min: [x0, y0, -1], max: [x1, y1, 1] });

describe('gestures as steps of a plan', () => {
  test('one gesture is one region', () => {
    const steps = draftSteps([box(1.5, 1.5, 9.5, 9.5)], freeId);
    expect(steps.map(({ id }) => id)).toEqual(['region-1']);
    expect(chosen([box(1.5, 1.5, 9.5, 9.5)])).toEqual(inBox(1.5, 1.5, 9.5, 9.5));
  });

  test('what is added is joined, what is taken away is left out, in whatever order', () => {
    const add = [box(1.5, 1.5, 9.5, 9.5), box(20.5, 1.5, 30.5, 9.5)];
    const take = box(5.5, 0.5, 25.5, 5.5, true);
    const expected = regionWithout(
      regionUnion(inBox(1.5, 1.5, 9.5, 9.5), inBox(20.5, 1.5, 30.5, 9.5)),
      inBox(5.5, 0.5, 25.5, 5.5),
    );
    expect(chosen([add[0]!, take, add[1]!])).toEqual(expected);
    expect(chosen([...add, take])).toEqual(expected);
    expect(chosen([take, ...add])).toEqual(expected);
  });

  test('nothing but taking away is no region', () => {
    expect(draftSteps([box(1, 1, 2, 2, true)], freeId)).toEqual([]);
    expect(draftSteps([], freeId)).toEqual([]);
  });

  test('seeds grown alike are one step with several seeds; those grown otherwise are a step of their own', () => {
    const grow = (x: number, turn: number): Gesture => ({
      takes: false,
      grow: { from: [[x, 0, 0]], turn, spread: 8 },
    });
    const same = draftSteps([grow(1, 3), grow(2, 3)], freeId);
    expect(same).toEqual([
      {
        step: 'region',
        id: 'region-1',
        grow: {
          from: [
            [1, 0, 0],
            [2, 0, 0],
          ],
          turn: 3,
          spread: 8,
        },
      },
    ]);
    const mixed = draftSteps([grow(1, 3), grow(2, 4), grow(3, 3)], freeId);
    expect(mixed).toHaveLength(3);
    expect(mixed.at(-1)).toEqual({ step: 'region', id: 'region-1', join: ['patch-1', 'patch-2'] });
  });
});
