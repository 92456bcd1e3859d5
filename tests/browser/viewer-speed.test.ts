import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { bytesOf, writePly } from '@fettle/io';
import type { Browser as Driven, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { wavyMesh } from '../bench/wavy-mesh.js';
import { builtPage } from './built-page.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// A scan of a million triangles must never hold up the page. Tasks are timed by the processor time of the page's own thread, which does
// not depend on what else the machine does; PerformanceObserver sees the same tasks by the clock.

/** Points a side: a million triangles. */
const SIDE = 708;

let browser: Driven;
let served: Served;
let folder: string;
let scanFile: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'fettle-speed-'));
  scanFile = join(folder, 'wavy.ply');
  await writeFile(scanFile, bytesOf(writePly(wavyMesh(SIDE))));
  const [opened, page] = await Promise.all([openBrowser(), builtPage()]);
  browser = opened;
  served = await serveFolder(page);
}, 200_000);
afterAll(async () => {
  await served?.close();
  await browser?.close();
  await rm(folder, { recursive: true, force: true });
});

const eventually = <T>(get: () => T) => expect.poll(get, { timeout: 60_000 });
const rows = (page: Page) => page.locator('.job-sheet tbody tr.counted');

interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  /** By the clock and by the processor, microseconds. */
  readonly dur?: number;
  readonly tdur?: number;
  readonly args?: { readonly name?: string };
}

/** The tasks of pages' main threads, ms of processor time, longest first. */
function tasksOf(trace: string): number[] {
  const { traceEvents } = JSON.parse(trace) as { traceEvents: readonly TraceEvent[] };
  const threadOf = ({ pid, tid }: TraceEvent) => `${pid} ${tid}`;
  const main = new Set(
    traceEvents.filter(({ name, args }) => name === 'thread_name' && args?.name === 'CrRendererMain').map(threadOf),
  );
  return traceEvents
    .filter((event) => event.name === 'ThreadControllerImpl::RunTask' && event.ph === 'X' && main.has(threadOf(event)))
    .map(({ tdur = 0 }) => tdur / 1000)
    .toSorted((a, b) => b - a);
}

test('a million triangles: no task of the page takes 100 ms while reading, choosing, fitting, cutting or turning', async () => {
  const { page, errors } = await watchedPage(browser);
  await page.addInitScript(() => {
    const seen: number[] = [];
    Object.assign(globalThis, { seen });
    new PerformanceObserver((list) => seen.push(...list.getEntries().map(({ duration }) => duration))).observe({
      type: 'longtask',
      buffered: true,
    });
  });
  await page.goto(served.url);
  await page.getByRole('button', { name: 'Open the demo pump' }).waitFor();
  await browser.startTracing(page, { categories: ['toplevel', 'disabled-by-default-toplevel', '__metadata'] });

  await page.getByLabel('Scan or plan').setInputFiles(scanFile);
  await eventually(() => page.locator('.title-block').textContent()).toMatch(/999,698/);
  await page.getByRole('button', { name: 'Look from z', exact: true }).waitFor();
  await page.waitForTimeout(500);
  await page.keyboard.press('g');
  const box = (await page.locator('canvas').first().boundingBox())!;
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x - 60, y, { steps: 1 });
  await page.mouse.move(x, y, { steps: 20 });
  await page.mouse.click(x, y);
  await eventually(() => page.locator('.draft-card').textContent()).toMatch(/rms/);
  await page.keyboard.press('Enter');
  await eventually(() => rows(page).count()).toBe(1);
  const plan = {
    version: 1,
    title: 'Cut',
    steps: [
      { step: 'region', id: 'crest', grow: { from: [[26, 0, 15]], turn: 2, spread: 6 } },
      { step: 'fit', id: 'face', shape: 'plane', to: 'crest' },
      { step: 'section', id: 'across', axis: 'x', at: 60 },
    ],
  };
  await page
    .getByLabel('Scan or plan')
    .setInputFiles({ name: 'plan.json', mimeType: 'application/json', buffer: Buffer.from(JSON.stringify(plan)) });
  await eventually(() => page.locator('tr[data-id="across"]').count()).toBe(1);
  await page.keyboard.press('v');
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 120, y + 40, { steps: 12 });
  await page.mouse.up();
  await page.waitForTimeout(1000);

  const tasks = tasksOf((await browser.stopTracing()).toString());
  expect(tasks.length).toBeGreaterThan(100);
  // Some work there is: else the tracing would time nothing.
  expect(tasks[0]).toBeGreaterThan(2);
  const byClock = await page.evaluate(() => (globalThis as unknown as { seen: number[] }).seen);
  expect(
    tasks.slice(0, 5).filter((ms) => ms > 100),
    `by the clock: ${byClock.join(', ')}`,
  ).toEqual([]);
  expect(errors).toEqual([]);
}, 240_000);
