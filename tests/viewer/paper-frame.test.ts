import type { Feature, Plan, Vec3 } from '@fettle/geom';
import { checkPlan, datumFrame } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import {
  choiceOf,
  datumsOf,
  flipped,
  frameOffers,
  frameSteps,
  missingWords,
  senseFrame,
  withAxes,
} from '../../packages/viewer/src/paper/frame-choice.js';

const plane = (normal: Vec3): Feature => ({ kind: 'plane', point: [0, 0, 0], normal });
const features = new Map<string, Feature>([
  ['top', plane([0, 0, 1])],
  ['step', plane([0, 0, 1])],
  ['front', plane([0, -1, 0])],
  ['side', plane([1, 0, 0])],
]);
const plan = (ids: readonly string[], more: Plan['steps'] = []): Plan => ({
  version: 1,
  title: 'Faces',
  steps: [...ids.map((id) => ({ step: 'fit', id, shape: 'plane', to: 'all' }) as const), ...more],
});
const free = (word: string): string => `${word}-1`;
const plus = { plane: 'z', line: 'x' } as const;

describe('a frame by sense', () => {
  test('is on the first three planes that meet; one parallel to the first is passed over', () => {
    const faces = plan(['top', 'step', 'front', 'side']);
    const datums = datumsOf(faces, features, undefined);
    const choice = senseFrame(faces, datums, []);
    expect(choice).toEqual({ by: 'planes', plane: 'top', line: 'front', point: 'side', plus });
    const steps = frameSteps(choice, datums, 'datum-1', free);
    expect(steps).toEqual([{ step: 'frame', id: 'datum-1', planes: ['top', 'front', 'side'] }]);
    expect(() => checkPlan({ ...faces, steps: [...faces.steps, ...steps] })).not.toThrow();
  });

  test('begins with the rows selected', () => {
    const faces = plan(['top', 'front', 'side']);
    expect(senseFrame(faces, datumsOf(faces, features, undefined), ['side', 'top'])).toMatchObject({
      plane: 'side',
      line: 'top',
      point: 'front',
    });
  });

  test('takes a hole as its point where two planes and a hole are there', () => {
    const hole: Feature = { kind: 'circle', center: [5, 5, 0], normal: [0, 0, 1], radius: 9 };
    const faces = plan(['top', 'front'], [{ step: 'fit', id: 'hole', shape: 'circle', to: 'all' }]);
    const datums = datumsOf(faces, new Map([...features, ['hole', hole]]), undefined);
    const choice = senseFrame(faces, datums, []);
    expect(choice).toEqual({ by: 'parts', plane: 'top', line: 'front', point: 'hole', plus });
    expect(frameSteps(choice, datums, 'datum-1', free)).toEqual([
      { step: 'frame', id: 'datum-1', plane: 'top', line: 'front', origin: 'hole' },
    ]);
  });

  test('says what is missing', () => {
    expect(missingWords({ by: 'parts', plus })).toMatch(/^A plane is needed first/);
    expect(missingWords({ by: 'parts', plane: 'top', plus })).toMatch(/^A direction is needed/);
    expect(missingWords({ by: 'parts', plane: 'top', line: 'front', plus })).toMatch(/^A point is needed/);
    expect(missingWords({ by: 'planes', plane: 'top', line: 'front', plus })).toMatch(/^Three planes are needed/);
  });
});

test('a corner that is not there yet is built before the frame', () => {
  const faces = plan(['top', 'front', 'side']);
  const datums = datumsOf(faces, features, undefined);
  const choice = { by: 'parts', plane: 'top', line: 'front', point: 'side', meets: true, plus } as const;
  const steps = frameSteps(choice, datums, 'datum-1', free);
  expect(steps).toEqual([
    { step: 'construct', id: 'corner-1', intersect: ['top', 'front', 'side'] },
    { step: 'frame', id: 'datum-1', plane: 'top', line: 'front', origin: 'corner-1' },
  ]);
  expect(() => checkPlan({ ...faces, steps: [...faces.steps, ...steps] })).not.toThrow();
  expect(frameOffers(datums, choice).corners.map(({ id }) => id)).toEqual(['side']);
});

test('only what stands before a frame can be chosen when it is changed', () => {
  const faces = plan(['top', 'front'], [{ step: 'frame', id: 'datum', plane: 'top', line: 'front', origin: 'top' }]);
  const later: Plan = { ...faces, steps: [...faces.steps, { step: 'fit', id: 'side', shape: 'plane', to: 'all' }] };
  expect(datumsOf(later, features, 'datum').map(({ id }) => id)).toEqual(['top', 'front']);
});

describe('axes', () => {
  const choice = { by: 'planes', plane: 'top', line: 'front', point: 'side', plus } as const;
  /** The axes of the frame that a choice of signs gives on square faces, by the library's own words. */
  const axes = ({ plus: signs }: { plus: Parameters<typeof datumFrame>[0]['plus'] }) => {
    const faces = ['top', 'front', 'side'].map((id) => features.get(id)) as never;
    const { x, y, z } = datumFrame({ planes: faces, plus: signs });
    return { x, y, z };
  };
  const times = (v: Vec3, by: number): Vec3 => v.map((c) => c * by + 0) as unknown as Vec3;
  test.each(['x', 'y', 'z'] as const)('flipping %s turns it to the other side', (axis) => {
    const before = axes(choice);
    const after = axes(flipped(choice, axis));
    const gap = Math.max(...after[axis].map((c, k) => Math.abs(c - times(before[axis], -1)[k]!)));
    expect(gap).toBeLessThan(1e-12);
  });
  test('a letter taken twice goes to the other datum', () => {
    expect(withAxes(choice, 'plane', 'x').plus).toEqual({ plane: 'x', line: 'z' });
    expect(withAxes(choice, 'line', 'y').plus).toEqual({ plane: 'z', line: 'y' });
  });
  test('a frame in the plan is read back as it was chosen', () => {
    expect(choiceOf({ step: 'frame', id: 'd', planes: ['top', 'front', 'side'] })).toEqual(choice);
    expect(
      choiceOf({ step: 'frame', id: 'd', plane: 'top', line: 'e', origin: 'c', plus: { plane: '-y', line: 'z' } }),
    ).toEqual({ by: 'parts', plane: 'top', line: 'e', point: 'c', plus: { plane: '-y', line: 'z' } });
  });
});
