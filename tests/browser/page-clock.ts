import type { Page } from 'playwright-core';

/** A task of the page's thread that took longer than the browser itself calls long, 50 ms. */
export interface LongTask {
  /** What the test was at. */
  readonly during: string;
  /** By the computer's clock, ms. */
  readonly from: number;
  readonly ms: number;
}

/** A question to the worker; times of the computer's clock, ms. */
export interface Answer {
  /** The last thing a hand did before. */
  readonly hand: number;
  readonly asked: number;
  readonly heard: number;
  /** The answer has done all it changes in the page, but for the picture, which the graphics card draws. */
  readonly done: number;
}

interface Clock {
  during: string;
  readonly tasks: LongTask[];
  readonly answers: Record<string, Answer[]>;
}

/** As comlink sends it. */
interface Message {
  readonly id?: unknown;
  readonly path?: readonly string[];
  readonly argumentList?: readonly { readonly value?: unknown }[];
}

type Timed = typeof globalThis & { pageClock: Clock };

/** Watches, from before a page is loaded, its long tasks and its worker's answers. */
export async function watchClock(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const clock: Clock = { during: 'loading', tasks: [], answers: {} };
    (globalThis as Timed).pageClock = clock;
    new PerformanceObserver((list) => {
      for (const { duration, startTime } of list.getEntries())
        clock.tasks.push({ during: clock.during, from: performance.timeOrigin + startTime, ms: duration });
    }).observe({ type: 'longtask' });
    const now = (): number => performance.timeOrigin + performance.now();
    let hand = 0;
    for (const type of ['pointermove', 'keydown', 'input'])
      addEventListener(
        type,
        () => {
          hand = now();
        },
        { capture: true },
      );
    const asked = new Map<unknown, { readonly question: string; readonly hand: number; readonly asked: number }>();
    globalThis.Worker = class extends Worker {
      constructor(url: string | URL, options?: WorkerOptions) {
        super(url, options);
        this.addEventListener('message', ({ data }) => {
          const one = asked.get(data?.id);
          if (!one) return;
          asked.delete(data.id);
          const heard = now();
          // What follows from the answer is done in its own task; this one comes after it.
          const { port1, port2 } = new MessageChannel();
          port1.onmessage = () => {
            port1.close();
            const { question, ...times } = one;
            clock.answers[question] = [...(clock.answers[question] ?? []), { ...times, heard, done: now() }];
          };
          port2.postMessage(undefined);
        });
      }
      override postMessage(message: Message, given?: unknown): void {
        const question = message?.path?.at(-1);
        const isBounded = message?.argumentList?.some(({ value }) => typeof value === 'number');
        if (question !== undefined)
          asked.set(message.id, { question: isBounded ? `${question} at once` : question, hand, asked: now() });
        super.postMessage(message, given as Transferable[]);
      }
    };
  });
}

/** Says what comes now; long tasks are told by it. */
export async function nowDoing(page: Page, during: string): Promise<void> {
  await page.evaluate((words) => {
    (globalThis as Timed).pageClock.during = words;
  }, during);
}

export const longTasks = (page: Page): Promise<readonly LongTask[]> =>
  page.evaluate(() => (globalThis as Timed).pageClock.tasks);

/**
 * Answers to one question since this was asked last. One that is asked with a number, as a time it may take, is another question:
 * `… at once`.
 */
export const newAnswers = (page: Page, question: string): Promise<Answer[]> =>
  page.evaluate((name) => (globalThis as Timed).pageClock.answers[name]?.splice(0) ?? [], question);
