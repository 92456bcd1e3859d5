import { FettleError, type Section } from '@fettle/geom';
import { expect, test } from 'vitest';
import {
  finderInPlace,
  finderInThread,
  type ProfileAnswer,
  type ProfileQuestion,
} from '../../packages/viewer/src/worker/profile-finder.js';
import { refusalOf } from '../../packages/viewer/src/worker/refusal.js';

/** A circle of 10 mm radius about the origin, in the plane z = 0, and a bit of a line too short for a profile. */
const section = ((): Section => {
  const ring = Array.from({ length: 200 }, (_, i) => (2 * Math.PI * i) / 200);
  const line = (xy: readonly (readonly [number, number])[], closed: boolean) => ({
    closed,
    points: Float64Array.from(xy.flatMap(([x, y]) => [x, y, 0])),
    flat: Float64Array.from(xy.flat()),
  });
  return {
    plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
    origin: [0, 0, 0],
    x: [1, 0, 0],
    y: [0, 1, 0],
    polylines: [
      line(
        ring.map((t) => [10 * Math.cos(t), 10 * Math.sin(t)]),
        true,
      ),
      line(
        [
          [20, 0],
          [21, 0],
          [22, 0],
        ],
        false,
      ),
    ],
  } as unknown as Section;
})();

/** A thread that answers when it is let: what passes to it and back is copied, as between threads. */
class Thread {
  onmessage: ((event: { data: ProfileAnswer }) => void) | null = null;
  onerror: (() => void) | null = null;
  isEnded = false;
  asked: ProfileQuestion | undefined;
  postMessage(question: ProfileQuestion): void {
    this.asked = structuredClone(question);
  }
  terminate(): void {
    this.isEnded = true;
  }
  async answer(): Promise<void> {
    const data: ProfileAnswer = await finderInPlace()
      .find(...this.asked!)
      .then(
        (found) => ({ found }),
        (error: unknown) => ({ refusal: refusalOf(error) }),
      );
    if (!this.isEnded) this.onmessage?.({ data: structuredClone(data) });
  }
}

function withThreads() {
  const threads: Thread[] = [];
  const finder = finderInThread(() => {
    const thread = new Thread();
    threads.push(thread);
    return thread as unknown as Worker;
  });
  return { threads, finder };
}

test('a thread of its own finds what is found in place, and is kept', async () => {
  const { threads, finder } = withThreads();
  for (let time = 0; time < 2; time++) {
    const asked = finder.find(section, 0, { tolerance: 0.05 });
    await threads[0]!.answer();
    const { pieces } = await asked;
    expect(pieces).toEqual((await finderInPlace().find(section, 0, { tolerance: 0.05 })).pieces);
    // The circle the points were laid on.
    expect(pieces).toHaveLength(1);
    expect((pieces[0]!.shape as { readonly radius: number }).radius).toBeCloseTo(10, 6);
  }
  expect(threads).toHaveLength(1);
});

test('of the section only the outline asked for is handed over', async () => {
  const { threads, finder } = withThreads();
  void finder.find(section, 1, { tolerance: 0.05 }).catch(() => undefined);
  const [given] = threads[0]!.asked!;
  expect(given.polylines.map(({ flat }) => flat.length)).toEqual([0, 6]);
});

test('an outline too short is refused with the code it has in place', async () => {
  const { threads, finder } = withThreads();
  const asked = finder.find(section, 1, { tolerance: 0.05 });
  await threads[0]!.answer();
  const inPlace = (await finderInPlace()
    .find(section, 1, { tolerance: 0.05 })
    .catch((error: unknown) => error)) as FettleError;
  await expect(asked).rejects.toBeInstanceOf(FettleError);
  await expect(asked).rejects.toMatchObject({ code: 'profile-too-short', message: inPlace.message });
});

test('stopped at work, its thread ends and another begins with the next outline', async () => {
  const { threads, finder } = withThreads();
  const asked = finder.find(section, 0, { tolerance: 0.05 });
  finder.stop();
  await expect(asked).rejects.toMatchObject({ code: 'aborted' });
  expect(threads[0]!.isEnded).toBe(true);
  const again = finder.find(section, 0, { tolerance: 0.05 });
  await threads[1]!.answer();
  expect((await again).pieces).toHaveLength(1);
  finder.stop();
  expect(threads[1]!.isEnded).toBe(false);
});

test('a thread that breaks is said', async () => {
  const { threads, finder } = withThreads();
  const asked = finder.find(section, 0, { tolerance: 0.05 });
  threads[0]!.onerror!();
  await expect(asked).rejects.toMatchObject({
    code: 'unexpected',
    message: expect.stringMatching(/could not be found/),
  });
});
