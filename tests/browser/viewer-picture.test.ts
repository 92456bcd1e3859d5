import { createScan } from '@fettle/geom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { part } from '../geom/plan-part.js';
import { atRest } from './at-rest.js';
import { builtPage } from './built-page.js';
import { agreement, type DepthScan, depthScan } from './depth-picture.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// Whole pictures: what the page draws by the graphics card, beside what the renderer of reports (packages/io) sees from there. It
// shares no code with the page's scene.

let browser: Browser;
let served: Served;
beforeAll(async () => {
  served = await serveFolder(await builtPage());
  browser = await openBrowser();
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await served?.close();
});

const block = (step: number, name: string) => depthScan({ ...part({ noise: 0.02, step }).scan, name });
const cloud = () =>
  depthScan(createScan({ positions: part({ noise: 0.02, step: 0.5 }).scan.positions, name: 'cloud.ply' }));
const pump = () => depthScan(scanPump({ triangles: 160_000 }).scan);

async function agrees(page: Page, scan: DepthScan, least: number): Promise<void> {
  await atRest(page);
  const { silhouette, depth, places } = await agreement(page, scan);
  // The scan fills the picture, but for a margin.
  expect(places).toBeGreaterThan(least);
  expect(silhouette).toBeGreaterThan(0.99);
  expect(depth).toBeGreaterThan(0.99);
}

async function loseCard(page: Page): Promise<void> {
  await page.evaluate(() => {
    const canvas = document.querySelector<HTMLCanvasElement>('.scene > canvas')!;
    const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
    canvas.addEventListener('webglcontextlost', () => setTimeout(() => lose.restoreContext(), 100), { once: true });
    const isBack = new Promise((resolve) => canvas.addEventListener('webglcontextrestored', resolve, { once: true }));
    lose.loseContext();
    return isBack;
  });
}

test('scans of any size are drawn whole, one after the other, and again when the graphics card was away', {
  timeout: 400_000,
}, async () => {
  const { page, errors } = await watchedPage(browser);
  page.setDefaultTimeout(90_000);
  await page.goto(served.url);
  const odd = block(0.45, 'odd.ply');
  // The last piece of its attributes leaves room for part of a number of its index.
  expect((3 * odd.points) % 4).not.toBe(0);
  const scans = [
    [block(2, 'small.ply'), 200_000],
    [odd, 200_000],
    [pump(), 80_000],
    [block(0.185, 'a-million.ply'), 200_000],
    [cloud(), 200_000],
  ] as const;
  for (const [scan, least] of scans) {
    await page.locator('input[type=file]').setInputFiles(scan.file);
    await page.locator('.title-block').getByText(scan.file.name, { exact: true }).waitFor();
    await page.getByLabel('scan colors').check();
    await agrees(page, scan, least);
    if (scan !== odd) continue;
    await loseCard(page);
    await agrees(page, scan, least);
  }
  expect(errors.filter((text) => !/context/i.test(text))).toEqual([]);
  await page.context().close();
});
