import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test, vi } from 'vitest';
import { builtPage } from './built-page.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// The page is kept for work without a network; on its server a newer one takes its place.

let browser: Browser;
let folder: string;
let served: Served;
beforeAll(async () => {
  browser = await openBrowser();
}, 240_000);
afterAll(async () => {
  await browser?.close();
});
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'fettle-new-version-'));
  await cp(await builtPage(), folder, { recursive: true });
  served = await serveFolder(folder);
});
afterEach(async () => {
  await served?.close();
  await rm(folder, { recursive: true, force: true });
});

/** Another build: its page has another title, its service worker another version. */
async function putNewVersion(title: string): Promise<void> {
  const index = join(folder, 'index.html');
  const page = await readFile(index, 'utf8');
  await writeFile(index, page.replace(/<title>.*<\/title>/, `<title>${title}</title>`));
  const worker = join(folder, 'offline.js');
  const text = await readFile(worker, 'utf8');
  await writeFile(worker, text.replace(/"version":"\w+"/, `"version":"${title.toLowerCase()}"`));
}

const keptVersions = (page: Page) => page.evaluate(async () => await caches.keys());
/** Whether the browser keeps the scan that was opened, a moment after it is shown. */
const isScanKept = (page: Page) =>
  page.evaluate(async () => {
    const open = indexedDB.open('keyval-store');
    await new Promise((resolve) => open.addEventListener('success', resolve));
    const scan = open.result.transaction('keyval').objectStore('keyval').get('scan');
    await new Promise((resolve) => scan.addEventListener('success', resolve));
    open.result.close();
    return scan.result !== undefined;
  });
const notes = (page: Page) => page.getByRole('status', { name: 'Notes' });
const begun = (page: Page) => page.getByRole('button', { name: 'Open the demo pump' }).waitFor();

test('a new version is told, and taken once the page is loaded with no other tab of it open; work goes on', async () => {
  const { page, errors } = await watchedPage(browser);
  await page.goto(served.url);
  await expect.poll(() => page.evaluate(() => navigator.serviceWorker.controller?.state)).toBe('activated');
  const [first] = await keptVersions(page);
  const title = await page.title();
  await page.getByRole('button', { name: 'Open the demo pump' }).click();
  await page.locator('.title-block').getByText('pump-scan.ply').waitFor();
  await expect.poll(() => isScanKept(page)).toBe(true);

  await putNewVersion('Second');
  await page.reload();
  await expect.poll(() => notes(page).textContent()).toMatch(/A new version of this page is ready/);
  expect(await page.title()).toBe(title);

  // Another tab would lose the files it has not loaded yet.
  const other = await page.context().newPage();
  await other.goto(served.url);
  await begun(other);
  await expect.poll(() => notes(other).textContent()).toMatch(/A new version of this page is ready/);
  await page.reload();
  await page.locator('.title-block').getByText('pump-scan.ply').waitFor();
  expect([await page.title(), await other.title()]).toEqual([title, title]);
  expect(await keptVersions(page)).toContain(first);

  await other.close();
  // On a busy machine the browser counts a tab some seconds after it was closed.
  const loadedAgain = async () => {
    await page.reload();
    await expect.poll(() => page.title(), { timeout: 5000 }).toBe('Second');
  };
  await vi.waitFor(loadedAgain, { timeout: 60_000 });
  await page.locator('.title-block').getByText('pump-scan.ply').waitFor();
  expect(await keptVersions(page)).toEqual(['fettle-second']);
  expect(await notes(page).textContent()).not.toMatch(/new version/);
  // Without a network it is the new one too.
  await page.context().setOffline(true);
  await page.reload();
  await page.locator('.title-block').getByText('pump-scan.ply').waitFor();
  expect(await page.title()).toBe('Second');
  expect(errors).toEqual([]);
  await page.context().close();
}, 150_000);
