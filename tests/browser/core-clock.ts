import { readFileSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import type { Browser } from 'playwright-core';

/** What the page's own thread and its worker waited for while others had the processors. */
export interface CoreClock {
  /**
   * Of a span of time, ms of the computer's clock: how long, at least, the thread was ready to run and had no processor. What it waited
   * for otherwise, as for the graphics card, is not in it.
   */
  waited(thread: 'page' | 'worker', from: number, to: number): number;
}

/** A reading of a thread: when it was begun and done, and what the thread has waited in all by then. All ms. */
type Reading = readonly [begun: number, done: number, waited: number];
type Readings = Readonly<Record<string, readonly Reading[]>>;

/**
 * Reads, from a thread of its own, how long threads have waited for a processor: Linux writes it down for each (proc(5), schedstat).
 * Elsewhere nothing is read, and nothing counts as waiting.
 *
 * @returns stops, and gives what was read
 */
export async function watchCores(browser: Browser): Promise<() => Promise<CoreClock>> {
  const devtools = await browser.newBrowserCDPSession();
  const { processInfo } = await devtools.send('SystemInfo.getProcessInfo');
  await devtools.detach();
  const renderers = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => id);
  const isTold = renderers.length > 0 && canRead(`/proc/${renderers[0]}/schedstat`);
  if (!isTold) return async () => ({ waited: () => 0 });
  const reader = new Worker(`(${readThreads})(${JSON.stringify(renderers)})`, { eval: true });
  return async () => {
    const readings = await new Promise<Readings>((resolve, reject) => {
      reader.once('message', resolve);
      reader.once('error', reject);
      reader.postMessage('stop');
    });
    await reader.terminate();
    // Of the page that measures.
    const pid = renderers.find((one) => `worker ${one}` in readings);
    return { waited: (thread, from, to) => within(readings[`${thread} ${pid}`] ?? [], from, to) };
  };
}

function canRead(file: string): boolean {
  try {
    return readFileSync(file).length > 0;
  } catch {
    return false;
  }
}

/** Runs in a thread without anything of this file. Names of readings: `page 12`, and `worker 12` of the first worker there was. */
function readThreads(renderers: readonly number[]): void {
  const fs = process.getBuiltinModule('node:fs');
  const os = process.getBuiltinModule('node:os');
  const { parentPort } = process.getBuiltinModule('node:worker_threads');
  const readings: Record<string, [number, number, number][]> = {};
  const files = new Map(renderers.map((pid) => [`page ${pid}`, `/proc/${pid}/schedstat`]));
  const clock = (): number => performance.timeOrigin + performance.now();
  try {
    // A reader that waits itself reads less.
    os.setPriority(-10);
  } catch {}
  const findWorkers = (): void => {
    for (const pid of renderers) {
      if (files.has(`worker ${pid}`)) continue;
      try {
        const threads = fs.readdirSync(`/proc/${pid}/task`).map(Number);
        const found = threads
          .toSorted((a, b) => a - b)
          .find((tid) => fs.readFileSync(`/proc/${pid}/task/${tid}/comm`, 'utf8').startsWith('DedicatedWorker'));
        if (found !== undefined) files.set(`worker ${pid}`, `/proc/${pid}/task/${found}/schedstat`);
      } catch {}
    }
  };
  let rounds = 0;
  const reading = setInterval(() => {
    if (rounds++ % 50 === 0) findWorkers();
    for (const [name, file] of files) {
      const begun = clock();
      try {
        const waited = Number(fs.readFileSync(file, 'utf8').split(' ')[1]) / 1e6;
        readings[name] ??= [];
        readings[name].push([begun, clock(), waited]);
      } catch {
        files.delete(name);
      }
    }
  }, 2);
  parentPort!.on('message', () => {
    clearInterval(reading);
    parentPort!.postMessage(readings);
  });
}

/** What was waited between two times, by the readings between them. */
function within(readings: readonly Reading[], from: number, to: number): number {
  let sum = 0;
  let before: Reading | undefined;
  for (const reading of readings) {
    const [begun, done, waited] = reading;
    if (done > to) break;
    // Waiting is written down when it is over: what was before the span is no part of it.
    if (before) sum += Math.min(waited - before[2], done - from);
    if (begun >= from) before = reading;
  }
  return Math.min(sum, to - from);
}
