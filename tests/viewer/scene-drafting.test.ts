import type { Vec3 } from '@fettle/geom';
import { bytesOf, writePly } from '@fettle/io';
import { describe, expect, test } from 'vitest';
import type { Gesture } from '../../packages/viewer/src/choosing/draft-steps.js';
import { draftingOf } from '../../packages/viewer/src/choosing/drafting.js';
import { startCut } from '../../packages/viewer/src/drawing/cutting.js';
import { createSession } from '../../packages/viewer/src/session/create-session.js';
import type { Draft } from '../../packages/viewer/src/session/session.js';
import { createMeasurer } from '../../packages/viewer/src/worker/measurer.js';
import { part } from '../geom/plan-part.js';

// From gestures to a fit in the plan, on the block of the plan tests: its true sizes stand there.

const { scan, axes } = part({ noise: 0.02 });

async function onBlock() {
  const session = createSession({ measurer: createMeasurer('http://localhost/') });
  await session.openFile(new File([bytesOf(writePly(scan))], 'block.ply'));
  return { session, drafting: draftingOf(session) };
}
type Block = Awaited<ReturnType<typeof onBlock>>;

/** Grows over all of a patch of the block, whose wall of the hole turns 14° from point to point. */
const grow = (at: Vec3, takes = false): Gesture => ({
  takes,
  grow: { from: [[...axes.toScan(at)]], turn: 20, spread: 180 },
});
const TOP: Vec3 = [20, 60, 0];
const WALL: Vec3 = [48, 30, -10];

/** The draft once its fit is there. */
async function fitted({ session, drafting }: Block): Promise<Draft> {
  await expect.poll(() => drafting.isBusy.value, { timeout: 50_000 }).toBe(false);
  return session.draft.value!;
}

describe('a draft', () => {
  test('is fitted with the shape suggested, and goes into the plan with its region', async () => {
    const block = await onBlock();
    block.drafting.add(grow(TOP));
    const draft = await fitted(block);
    expect(draft.suggested?.suggestion.kind).toBe('plane');
    expect(draft.fit?.view?.feature?.kind).toBe('plane');
    // 61 × 41 points of the top.
    expect(draft.choice?.count).toBeGreaterThan(0.9 * 61 * 41);
    expect(await block.drafting.keep()).toBe(true);
    const { steps } = block.session.plan.value;
    expect(steps.map(({ id }) => id)).toEqual(['region-1', 'plane-1']);
    expect(steps[1]).toMatchObject({ shape: 'plane', to: 'region-1', reject: 3.5 });
    expect(block.session.draft.value).toBeUndefined();
    expect(block.session.selected.value).toEqual(['plane-1']);
  });

  test('takes another shape, and strays too, when told', async () => {
    const block = await onBlock();
    block.drafting.add(grow(TOP));
    await fitted(block);
    block.drafting.shape.value = 'line';
    block.drafting.rejects.value = false;
    const draft = await fitted(block);
    expect(draft.fit?.step).toMatchObject({ id: 'line-1', shape: 'line' });
    expect(draft.fit?.step).not.toHaveProperty('reject');
    expect(draft.fit?.view?.feature?.kind).toBe('line');
  });

  test('takes the diameter that is known, typed or from a size by hand', async () => {
    const block = await onBlock();
    await block.session.append([{ step: 'by-hand', id: 'pin', size: 16.004, uncertainty: 0.01 }]);
    block.drafting.add(grow(WALL));
    const free = await fitted(block);
    expect(free.suggested?.suggestion.kind).toBe('cylinder');
    const diameterOf = ({ fit }: Draft): number | undefined =>
      fit?.view?.row?.values.find(({ name }) => name === 'diameter')?.value;
    expect(Math.abs(diameterOf(free)! - 16)).toBeLessThan(0.05);
    block.drafting.known.value = { diameter: 16.1 };
    expect(diameterOf(await fitted(block))).toBeCloseTo(16.1, 9);
    block.drafting.known.value = { diameter: 'pin' };
    const known = await fitted(block);
    expect(diameterOf(known)).toBeCloseTo(16.004, 9);
    expect(known.fit?.step).toMatchObject({ known: { diameter: 'pin' } });
  });

  test('takes the half-angle of a cone that is known', async () => {
    const block = await onBlock();
    block.drafting.add(grow(WALL));
    await fitted(block);
    // No cone is there; what is known goes with the shape that has it.
    block.drafting.known.value = { halfAngle: 30, diameter: 16 };
    expect((await fitted(block)).fit?.step).toMatchObject({ shape: 'cylinder', known: { diameter: 16 } });
    block.drafting.shape.value = 'cone';
    expect((await fitted(block)).fit?.step).toMatchObject({ shape: 'cone', known: { halfAngle: 30 } });
  });

  test('takes the direction of an axis of the frame in use, here the scan', async () => {
    const block = await onBlock();
    block.drafting.add(grow(TOP));
    await fitted(block);
    block.drafting.known.value = { direction: [0, 0, 1] };
    const { fit } = await fitted(block);
    expect(fit?.view?.feature).toMatchObject({ kind: 'plane' });
    const normal = (fit!.view!.feature as { normal: Vec3 }).normal;
    expect(normal.map(Math.abs)).toEqual([0, 0, 1]);
    expect(fit?.step).not.toHaveProperty('in');
  });

  test('without what was taken away again is gone when all of it is', async () => {
    const block = await onBlock();
    block.drafting.add(grow(TOP));
    await fitted(block);
    block.drafting.add(grow(TOP, true));
    const draft = await fitted(block);
    expect(draft.refusal?.code).toBe('region-empty');
    expect(await block.drafting.keep()).toBe(false);
    block.drafting.back();
    expect((await fitted(block)).fit?.view?.feature?.kind).toBe('plane');
    block.drafting.drop();
    expect(block.session.draft.value).toBeUndefined();
  });

  test('is what gestures make in the order they were made, however long each is looked up', async () => {
    const block = await onBlock();
    const { drafting } = block;
    let found = (): void => {};
    const looked = new Promise<void>((resolve) => {
      found = resolve;
    });
    const slow = drafting.inTurn(async () => {
      await looked;
      drafting.gestures.value = [];
      drafting.add(grow(TOP));
    });
    const quick = drafting.inTurn(async () => drafting.add(grow(WALL)));
    expect(drafting.awaited.value).toBe(2);
    found();
    await Promise.all([slow, quick]);
    expect(drafting.awaited.value).toBe(0);
    expect(drafting.gestures.value).toEqual([grow(TOP), grow(WALL)]);
    const both = await fitted(block);
    expect(both.steps.at(-1)).toMatchObject({ grow: { from: [[...axes.toScan(TOP)], [...axes.toScan(WALL)]] } });
  });

  test('is kept where the key came before the gesture was looked up; a gesture after the key is for the next', async () => {
    const { session, drafting } = await onBlock();
    const first = drafting.inTurn(async () => drafting.add(grow(TOP)));
    const kept = drafting.keep();
    expect(drafting.keep()).toBe(kept);
    const second = drafting.inTurn(async () => drafting.add(grow(WALL)));
    const keptToo = drafting.keep();
    await Promise.all([first, second]);
    expect(await Promise.all([kept, keptToo])).toEqual([true, true]);
    expect(session.plan.value.steps.map(({ id }) => id)).toEqual(['region-1', 'plane-1', 'region-2', 'cylinder-1']);
  });

  test('is none where it was let go of before the gesture was looked up', async () => {
    const { session, drafting } = await onBlock();
    const gesture = drafting.inTurn(async () => drafting.add(grow(TOP)));
    drafting.drop();
    await gesture;
    expect(drafting.gestures.value).toEqual([]);
    expect(session.draft.value).toBeUndefined();
  });

  test('and a section that is moved at the same time are both answered', async () => {
    const block = await onBlock();
    const { session, drafting } = block;
    drafting.add(grow(TOP));
    await expect.poll(() => session.draft.value?.fit, { interval: 1, timeout: 50_000 }).toBeDefined();
    // The fit is being tried; the worker does what it was asked last.
    startCut(session);
    await expect.poll(() => session.cutting.value?.view?.section, { timeout: 50_000 }).toBeDefined();
    expect((await fitted(block)).fit?.view?.feature?.kind).toBe('plane');

    drafting.rejects.value = false;
    startCut(session, 'x');
    drafting.shape.value = 'line';
    await expect.poll(() => session.cutting.value?.view?.section?.normal, { timeout: 50_000 }).toEqual([1, 0, 0]);
    expect((await fitted(block)).fit?.view?.feature?.kind).toBe('line');
  });

  test('is gone when another scan is opened', async () => {
    const block = await onBlock();
    block.drafting.add(grow(TOP));
    await fitted(block);
    await block.session.openFile(new File([bytesOf(writePly(scan))], 'again.ply'));
    expect(block.session.draft.value).toBeUndefined();
    expect(block.drafting.gestures.value).toEqual([]);
  });
});
