import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { bytesOf, writePly } from '@fettle/io';
import type { BrowserContextOptions, Browser as Driven, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { part } from '../geom/plan-part.js';
import { builtPage } from './built-page.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// The page as it is built, served under a strict content policy: scans and plans come and go, and nothing is lost.

const POLICY =
  "default-src 'self'; img-src 'self' blob: data:; worker-src 'self' blob:; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'";

const { scan, axes } = part({ noise: 0.01 });
const ply = Buffer.from(bytesOf(writePly(scan)));
const inScan = (p: readonly [number, number, number]) => [...axes.toScan(p)];
const face = (id: string, center: readonly [number, number, number], radius: number) => [
  { step: 'region', id: `${id}-skin`, sphere: { center: inScan(center), radius } },
  { step: 'fit', id, shape: 'plane', to: `${id}-skin` },
];
const faces = [
  ...face('top', [70, 40, 0], 12),
  ...face('front', [60, -0.5, -10], 9),
  ...face('side', [-0.35, 40, -10], 9),
];
const datum = { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] };
const file = (name: string, content: Buffer | string | object) => ({
  name,
  mimeType: 'application/octet-stream',
  buffer: Buffer.isBuffer(content)
    ? content
    : Buffer.from(typeof content === 'string' ? content : JSON.stringify(content)),
});
const block = file('block.ply', ply);
const planOf = (title: string, steps: readonly object[]) => file('plan.json', { version: 1, title, steps });

let browser: Driven;
let folder: string;
let served: Served;
beforeAll(async () => {
  [browser, folder] = await Promise.all([openBrowser(), builtPage()]);
  served = await serveFolder(folder, { 'content-security-policy': POLICY });
}, 200_000);
afterAll(async () => {
  await served?.close();
  await browser?.close();
});

async function openPage(options: BrowserContextOptions = {}) {
  const watched = await watchedPage(browser, options);
  const violations: string[] = [];
  await watched.page.exposeFunction('tellViolation', (what: string) => violations.push(what));
  await watched.page.addInitScript(() => {
    const tell = (globalThis as unknown as { tellViolation(what: string): void }).tellViolation;
    addEventListener('securitypolicyviolation', (event) => tell(`${event.violatedDirective} ${event.blockedURI}`));
  });
  await watched.page.goto(served.url);
  return { ...watched, violations };
}

const take = (page: Page, ...files: ReturnType<typeof file>[]) => page.getByLabel('Scan or plan').setInputFiles(files);
/** Time enough on a busy machine. */
const eventually = <T>(get: () => T) => expect.poll(get, { timeout: 20_000 });
/** The numbered rows of the job sheet. */
const rows = (page: Page) => page.locator('.job-sheet tbody tr.counted');
const sheet = async (page: Page) => (await page.locator('.job-sheet table').allInnerTexts()).join();
const titleBlock = (page: Page) => page.locator('.title-block');
const refusals = (page: Page) => page.getByRole('alert', { name: 'Refused' });
const notes = (page: Page) => page.getByRole('status', { name: 'Notes' });
const isDone = (page: Page) => eventually(() => page.locator('.run-state').textContent()).not.toMatch(/measuring/);

test('the demo pump opens, everything from beside the page, nothing the policy forbids', async () => {
  const { page, errors, requests, violations } = await openPage();
  await page.getByRole('button', { name: 'Open the demo pump' }).click();
  await eventually(() => titleBlock(page).textContent()).toMatch(/pump-scan\.ply/);
  const foot = { step: 'region', id: 'foot', grow: { from: [[251, -141, 576]], turn: 3, spread: 8 } };
  await take(page, planOf('A foot', [foot, { step: 'fit', id: 'top', shape: 'plane', to: 'foot' }]));
  await eventually(() => rows(page).count()).toBe(1);
  expect(errors).toEqual([]);
  expect(violations).toEqual([]);
  expect(requests.filter((url) => !url.startsWith(served.url))).toEqual([]);
  await page.context().close();
}, 90_000);

test('a reload in the middle of work loses nothing: scan, plan, and the way back through what was done', async () => {
  const { page, errors } = await openPage();
  await take(page, block);
  await eventually(() => titleBlock(page).textContent()).toMatch(/block\.ply/);
  await take(page, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  await take(page, planOf('Faces and frame', [...faces, datum]));
  await eventually(() => rows(page).count()).toBe(4);
  await page.locator('tr[data-id="datum"]').click();
  await page.keyboard.press('Delete');
  await eventually(() => rows(page).count()).toBe(3);
  await page.keyboard.press('Control+z');
  await eventually(() => rows(page).count()).toBe(4);
  await isDone(page);
  const before = await sheet(page);

  await page.reload();
  await eventually(() => rows(page).count()).toBe(4);
  await isDone(page);
  expect(await sheet(page)).toBe(before);
  expect(await titleBlock(page).textContent()).toMatch(/block\.ply/);

  const undo = page.getByRole('button', { name: 'Undo' });
  const redo = page.getByRole('button', { name: 'Redo' });
  let count = 0;
  // How far back it goes is known once what was undone is measured.
  for (; await undo.isEnabled(); count++) {
    await undo.click();
    await isDone(page);
  }
  expect(count).toBe(2);
  await eventually(() => rows(page).count()).toBe(0);
  for (; await redo.isEnabled(); count--) {
    await redo.click();
    await isDone(page);
  }
  // The frame is deleted again: that, too, had been undone when the page was left.
  expect(count).toBe(-1);
  await eventually(() => rows(page).count()).toBe(3);
  await undo.click();
  await eventually(() => rows(page).count()).toBe(4);
  await isDone(page);
  expect(await sheet(page)).toBe(before);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('bad files are refused with what is wrong with them; what is open stays', async () => {
  const { page } = await openPage();
  await take(page, block, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  await take(page, file('short.ply', ply.subarray(0, ply.length - 1000)));
  await eventually(() => refusals(page).textContent()).toMatch(/short\.ply: .*(cut short|ends)/s);
  await take(page, file('letter.txt', 'Dear all,\nplease find attached the scan.\n'));
  await eventually(() => refusals(page).textContent()).toMatch(/letter\.txt: /);
  await take(page, file('broken.json', '{ "version": 1, "steps": [ }'));
  await eventually(() => refusals(page).textContent()).toMatch(/broken\.json, line 1, column 28/);
  expect(await rows(page).count()).toBe(3);
  expect(await titleBlock(page).textContent()).toMatch(/block\.ply/);
  await page.context().close();
}, 60_000);

test('the plan of another scan: which steps give nothing and why, the others stand', async () => {
  const { page } = await openPage();
  const far = [
    { step: 'region', id: 'far', sphere: { center: [0, 0, 900], radius: 1 } },
    { step: 'fit', id: 'lid', shape: 'plane', to: 'far' },
  ];
  await take(page, block, planOf('Another machine', [...faces, ...far]));
  await eventually(() => refusals(page).textContent()).toMatch(
    /2 of 8 steps give nothing on block\.ply.*far: .*1 more waits? for it/s,
  );
  await eventually(() => page.locator('tr[data-id="lid"]').textContent()).toMatch(/waits for far/);
  expect(await page.locator('tr[data-id="top"]').textContent()).toMatch(/plane/);
  await page.context().close();
}, 60_000);

/** Bytes the browser lets the page store. Newer ones give an empty database 221 kB alone. */
async function giveRoom(page: Page, bytes: number): Promise<void> {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('Storage.overrideQuotaForOrigin', { origin: new URL(served.url).origin, quotaSize: bytes });
}

/** What of the plan is kept in the store that fills apart from that of scans. */
const keptBeside = (page: Page) => page.evaluate(() => localStorage.getItem('history'));

test('a store too small for the scan is said, and the plan is kept', async () => {
  const { page } = await openPage();
  const large = file('block.ply', Buffer.from(bytesOf(writePly(part({ noise: 0.01, step: 1 }).scan))));
  expect(large.buffer.length).toBeGreaterThan(1_000_000);
  await giveRoom(page, 900_000);
  await take(page, large);
  await eventually(() => notes(page).textContent()).toMatch(/storage is full.*open the scan again/s);
  await take(page, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  await isDone(page);
  await page.reload();
  await eventually(() => notes(page).textContent()).toMatch(/"Faces" is still here/);
  await take(page, large);
  await eventually(() => rows(page).count()).toBe(3);
  await page.context().close();
}, 90_000);

test('a store too small for the plan too: the plan goes where there is room, and back once there is', async () => {
  const { page } = await openPage();
  await giveRoom(page, 1000);
  await take(page, block);
  await eventually(() => notes(page).textContent()).toMatch(/storage is full.*open the scan again/s);
  await take(page, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  await eventually(() => keptBeside(page)).toMatch(/Faces/);
  expect(await refusals(page).textContent()).toBe('');
  await page.reload();
  await eventually(() => notes(page).textContent()).toMatch(/"Faces" is still here/);
  await take(page, block);
  await eventually(() => rows(page).count()).toBe(3);
  await page.getByRole('button', { name: 'Undo' }).click();
  await eventually(() => rows(page).count()).toBe(0);

  await giveRoom(page, 1e9);
  await take(page, planOf('Faces and frame', [...faces, datum]));
  await eventually(() => rows(page).count()).toBe(4);
  await eventually(() => keptBeside(page)).toBe(null);
  await page.reload();
  await eventually(() => notes(page).textContent()).toMatch(/"Faces and frame" is still here/);
  await page.context().close();
}, 90_000);

test('where only the plan in place fits, that is kept, and said', async () => {
  const { page } = await openPage();
  await giveRoom(page, 1000);
  await take(page, block, planOf('Faces', faces));
  await eventually(() => keptBeside(page)).toMatch(/Faces/);
  // Browsers give this store 5 million characters: what is left is room for one plan and not for two.
  await page.evaluate(() => {
    const one = localStorage.getItem('history')!.length;
    for (let size = 2 ** 22; size > one / 4; size /= 2)
      for (let i = 0; i < 2; i++)
        try {
          localStorage.setItem(`full ${size} ${i}`, 'x'.repeat(size));
        } catch {
          // Less is tried next.
        }
  });
  await take(page, planOf('Two faces', faces.slice(0, 4)));
  await eventually(() => rows(page).count()).toBe(2);
  await eventually(() => notes(page).textContent()).toMatch(/plan is kept, but after a reload nothing before it/);
  await page.reload();
  await eventually(() => notes(page).textContent()).toMatch(/"Two faces" is still here/);
  await page.context().close();
}, 90_000);

test('two tabs work on two jobs; each has its own again when it is loaded again, and the one left last comes back alone', async () => {
  const { page, errors } = await openPage();
  await take(page, block, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  const other = await page.context().newPage();
  await other.goto(served.url);
  await eventually(() => notes(other).textContent()).toMatch(/open in another tab too/);
  expect(await rows(other).count()).toBe(0);
  const finer = file('finer.ply', Buffer.from(bytesOf(writePly(part({ noise: 0.01, step: 1.5 }).scan))));
  await take(other, finer, planOf('Top', faces.slice(0, 2)));
  await eventually(() => rows(other).count()).toBe(1);
  await isDone(other);

  await page.reload();
  await eventually(() => rows(page).count()).toBe(3);
  expect(await titleBlock(page).textContent()).toMatch(/block\.ply/);
  await other.reload();
  await eventually(() => rows(other).count()).toBe(1);
  expect(await titleBlock(other).textContent()).toMatch(/finer\.ply/);
  expect(errors).toEqual([]);

  await page.close();
  await other.close();
  const next = await page.context().newPage();
  await next.goto(served.url);
  await eventually(() => rows(next).count()).toBe(1);
  expect(await titleBlock(next).textContent()).toMatch(/finer\.ply/);
  expect(await notes(next).textContent()).not.toMatch(/another tab/);
  await page.context().close();
}, 90_000);

const act = (page: Page, name: string) => notes(page).getByRole('button', { name }).click();

test.each([
  ['with locks', true],
  ['on a page without locks', false],
])(
  'a second tab looks at a copy of the job, or takes it over; nothing is overwritten unseen, %s',
  async (_, hasLocks) => {
    const { page, errors } = await openPage();
    // As on a page served without a secure connection.
    if (!hasLocks)
      await page
        .context()
        .addInitScript(() => Object.defineProperty(Navigator.prototype, 'locks', { get: () => undefined }));
    if (!hasLocks) await page.reload();
    await take(page, block, planOf('Faces', faces));
    await eventually(() => rows(page).count()).toBe(3);
    await isDone(page);

    const other = await page.context().newPage();
    await other.goto(served.url);
    await eventually(() => notes(other).textContent()).toMatch(
      /open in another tab too, with the job "Faces"\. This tab has a job of its own/,
    );
    expect(await rows(other).count()).toBe(0);

    await act(other, 'Look at a copy');
    await eventually(() => rows(other).count()).toBe(3);
    await eventually(() => notes(other).textContent()).toMatch(
      /a copy of the job that another tab has\. Nothing done here/,
    );
    expect(await other.getByRole('button', { name: 'Forget its copy' }).count()).toBe(0);
    await take(other, planOf('Elsewhere', faces.slice(0, 2)));
    await eventually(() => rows(other).count()).toBe(1);
    await page.reload();
    await eventually(() => rows(page).count()).toBe(3);

    await act(other, 'Take the job over');
    await eventually(() => rows(other).count()).toBe(3);
    await eventually(() => refusals(page).textContent()).toMatch(/Another tab has taken this job over/);
    await take(page, planOf('Lost', faces.slice(0, 2)));
    await eventually(() => rows(page).count()).toBe(1);
    await take(other, planOf('Two', faces.slice(0, 4)));
    await eventually(() => rows(other).count()).toBe(2);
    await isDone(other);
    await other.reload();
    await eventually(() => rows(other).count()).toBe(2);

    await refusals(page).getByRole('button', { name: 'Take it back' }).click();
    await eventually(() => rows(page).count()).toBe(2);
    await eventually(() => refusals(other).textContent()).toMatch(/Another tab has taken this job over/);
    expect(errors).toEqual([]);
    await page.context().close();
  },
  120_000,
);

test('the copy of a scan is taken out of the browser when asked for; the plan stays', async () => {
  const { page, errors } = await openPage();
  /** Files in the page's own database. */
  const files = () =>
    page.evaluate(async () => {
      const open = indexedDB.open('keyval-store');
      await new Promise((resolve) => open.addEventListener('success', resolve));
      const all = open.result.transaction('keyval').objectStore('keyval').getAll();
      await new Promise((resolve) => all.addEventListener('success', resolve));
      open.result.close();
      return (all.result as { file?: unknown }[]).filter(({ file }) => file instanceof Blob).length;
    });
  await take(page, block, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  const forget = page.getByRole('button', { name: 'Forget its copy' });
  await forget.waitFor();
  expect(await files()).toBe(1);
  // With the copies of tabs that are gone.
  const other = await page.context().newPage();
  await other.goto(served.url);
  await take(other, block);
  await other.getByRole('button', { name: 'Forget its copy' }).waitFor();
  expect(await files()).toBe(2);
  await other.close();
  await forget.click();
  await eventually(() => notes(page).textContent()).toMatch(/block\.ply is no longer kept in this browser/);
  expect([await files(), await forget.count(), await rows(page).count()]).toEqual([0, 0, 3]);
  await page.reload();
  await eventually(() => notes(page).textContent()).toMatch(/"Faces" is still here/);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('reading is called off', async () => {
  const { page } = await openPage();
  const lines = Array.from({ length: 400_000 }, (_, i) => `${i % 700} ${(i * 7) % 311} ${i % 97}`).join('\n');
  // Pressed as soon as it is there, before a fast machine has read the file.
  await page.evaluate(() => {
    new MutationObserver((_, watching) => {
      const cancel = [...document.querySelectorAll('button')].find(({ textContent }) => textContent === 'Cancel');
      if (!cancel) return;
      watching.disconnect();
      cancel.click();
    }).observe(document.body, { subtree: true, childList: true });
  });
  await take(page, file('cloud.xyz', lines));
  await eventually(() => page.locator('.opening').count()).toBe(0);
  expect(await page.getByRole('button', { name: 'Open the demo pump' }).isVisible()).toBe(true);
  await page.waitForTimeout(1500);
  expect(await page.getByRole('button', { name: 'Open the demo pump' }).isVisible()).toBe(true);
  await page.context().close();
}, 60_000);

test('once loaded it works without a network', async () => {
  const { page, errors } = await openPage();
  const isReady = () =>
    page.evaluate(async () => (await navigator.serviceWorker.getRegistration())?.active?.state ?? 'none');
  await eventually(isReady).toBe('activated');
  await page.context().setOffline(true);
  await page.reload();
  await page.getByRole('button', { name: 'Open the demo pump' }).click();
  await eventually(() => titleBlock(page).textContent()).toMatch(/pump-scan\.ply/);
  await take(page, block, planOf('Faces', faces));
  await eventually(() => rows(page).count()).toBe(3);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('where the worker cannot be loaded the page says so instead of waiting', async () => {
  const { page } = await openPage({ serviceWorkers: 'block' });
  await page.context().route(/worker-.*\.js$/, (route) => route.fulfill({ status: 404, body: 'not found' }));
  await take(page, block);
  await eventually(() => refusals(page).textContent()).toMatch(/measures does not run.*Load the page again/);
  expect(await page.locator('.opening').count()).toBe(0);
  await page.context().close();
}, 60_000);

test('the service worker keeps every file of the build', async () => {
  const kept = /const BUILD=(\{.*?\});/.exec(await readFile(join(folder, 'offline.js'), 'utf8'))![1]!;
  const { files } = JSON.parse(kept) as { files: string[] };
  const built = (await readdir(folder, { recursive: true, withFileTypes: true }))
    .filter((entry) => entry.isFile() && entry.name !== 'offline.js')
    .map(({ parentPath, name }) => join(parentPath, name).slice(folder.length + 1));
  expect(files.toSorted()).toEqual(built.toSorted());
});

test('what is loaded before a scan is asked for is less than 250 kB compressed', async () => {
  const { page, requests } = await openPage();
  await page.getByRole('button', { name: 'Open the demo pump' }).waitFor();
  await page.waitForLoadState('networkidle');
  // The service worker fetches the rest when all is there already: it is no part of the page.
  const shown = await page.evaluate(() => performance.getEntriesByType('resource').map(({ name }) => name));
  const loaded = [served.url, ...shown].map((url) => url.slice(served.url.length) || 'index.html');
  expect(loaded.filter((name) => name.endsWith('.js')).length).toBeGreaterThan(1);
  const sizes = await Promise.all(loaded.map(async (name) => gzipSync(await readFile(join(folder, name))).length));
  expect(sizes.reduce((sum, size) => sum + size, 0)).toBeLessThan(250_000);
  expect(requests.length).toBeGreaterThan(1);
  await page.context().close();
});
