import { bytesOf, writePly, writeStl } from '@fettle/io';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstLook } from '../../packages/viewer/src/scene/first-look.js';
import { drawnSurface } from '../../packages/viewer/src/worker/drawn-surface.js';
import { atRest } from './at-rest.js';
import { block, blockFile, blockPicture } from './block-picture.js';
import { builtPage } from './built-page.js';
import { blockPlan, planFile, rowOf, valueTold } from './measured-block.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { pixelsOf, warmth } from './pixels.js';
import { type Served, serveFolder } from './serve-folder.js';

// Scans and plans come to the page in any order, by choosing or dropping, in units their files do not tell.

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

async function emptyPage() {
  const watched = await watchedPage(browser);
  await watched.page.goto(served.url);
  await watched.page.locator('.open-page').waitFor();
  return watched;
}
const choose = (page: Page, ...files: (typeof blockFile)[]) => page.locator('input[type=file]').setInputFiles(files);
const measured = (page: Page) => rowOf(page, 'apart').locator('.number').waitFor({ timeout: 30_000 });

/** Lets go of a file over the page, as from a folder's window. */
const drop = (page: Page, { name, buffer }: typeof blockFile): Promise<void> =>
  page.evaluate(
    ([fileName, base64]) => {
      const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
      const dataTransfer = new DataTransfer();
      dataTransfer.items.add(new File([bytes], fileName));
      for (const type of ['dragover', 'drop'])
        document.body.dispatchEvent(new DragEvent(type, { dataTransfer, bubbles: true, cancelable: true }));
    },
    [name, buffer.toString('base64')] as const,
  );

test('a scan in meters whose file tells no unit: asked by its size, read again as answered', async () => {
  const { page, errors } = await emptyPage();
  const small = { ...block.scan, positions: block.scan.positions.map((v) => v / 1000) };
  await choose(page, { ...blockFile, name: 'block-m.stl', buffer: Buffer.from(bytesOf(writeStl(small))) });
  const question = page.getByRole('region', { name: 'Unit of the file' });
  await question.waitFor({ timeout: 20_000 });
  expect(await question.innerText()).toMatch(/block-m\.stl measures 0\.\d+ × 0\.\d+ × 0\.\d+ mm.*likelier in meters/s);
  await question.getByRole('button', { name: 'Read it in meters' }).click();
  await question.waitFor({ state: 'detached', timeout: 20_000 });
  await choose(page, planFile(blockPlan));
  await measured(page);
  // ⌀ 16 mm.
  expect(Math.abs((await valueTold(page, 'hole', 'diameter')).value - 16)).toBeLessThan(0.02);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a scan in inches whose file tells no unit is asked about, with its size in each unit that would be plausible', async () => {
  const { page, errors } = await emptyPage();
  const sides = [0, 1, 2].map((k) => {
    const along = block.scan.positions.filter((_, i) => i % 3 === k);
    return along.reduce((a, b) => Math.max(a, b)) - along.reduce((a, b) => Math.min(a, b));
  });
  const inches = 6.6 / Math.max(...sides);
  const scan = { ...block.scan, positions: block.scan.positions.map((v) => v * inches) };
  await choose(page, { ...blockFile, name: 'block-inch.stl', buffer: Buffer.from(bytesOf(writeStl(scan))) });
  const question = page.getByRole('region', { name: 'Unit of the file' });
  await question.waitFor({ timeout: 20_000 });
  const offers = (await question.getByRole('listitem').allInnerTexts()).map((text) => text.replaceAll(/\s+/g, ' '));
  expect(offers.map((text) => /(?<=in |Keep )\w+/.exec(text)![0])).toEqual([
    'inches',
    'centimeters',
    'meters',
    'millimeters',
  ]);
  // The same rule as `fettle info`: 1 inch is 25.4 mm.
  for (const [i, size] of ['168', '66', '6,600', '6.6'].entries()) expect(offers[i]!.split(/[ ×]+/)).toContain(size);
  await question.getByRole('button', { name: 'Read it in inches' }).click();
  await question.waitFor({ state: 'detached', timeout: 20_000 });
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a plan waits for its scan: dropped first, it is measured by once the scan is dropped on it', async () => {
  const { page, errors } = await emptyPage();
  await drop(page, planFile(blockPlan));
  await page.getByText('The plan “Block” is ready, with 12 steps').waitFor();
  await drop(page, blockFile);
  await measured(page);
  expect(await page.locator('.title-block input').inputValue()).toBe('Block');
  // Another plan dropped on the scan takes its place, and undo brings the first one back.
  const [skin, top] = blockPlan.steps;
  await drop(page, planFile({ ...blockPlan, title: 'Top alone', steps: [skin!, top!] }));
  await expect.poll(() => page.locator('.job-sheet .balloon').count(), { timeout: 20_000 }).toBe(1);
  await page.keyboard.press('Control+z');
  await measured(page);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('the colors the scanner saw are shown when asked for', async () => {
  const { page, errors } = await emptyPage();
  const colors = new Uint8Array(block.scan.positions.length);
  for (let i = 0; i < colors.length; i += 3) colors.set([210, 70, 40], i);
  await choose(page, { ...blockFile, buffer: Buffer.from(bytesOf(writePly({ ...block.scan, colors }))) });
  await page.locator('.triad').waitFor();
  await atRest(page);
  const picture = await blockPicture(page, firstLook(drawnSurface(block.scan)));
  const [x, y] = picture.pixelOf([20, 60, 0]);
  const look = async (): Promise<number> => warmth((await pixelsOf(page.locator('body'))).at(x, y));
  expect(await look()).toBeLessThan(30);
  await page.getByLabel('scan colors').check();
  await expect.poll(look, { timeout: 10_000 }).toBeGreaterThan(70);
  await page.getByLabel('scan colors').uncheck();
  await expect.poll(look, { timeout: 10_000 }).toBeLessThan(30);
  expect(errors).toEqual([]);
  await page.context().close();
});
