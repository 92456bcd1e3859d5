import { readFile } from 'node:fs/promises';
import type { Browser, Page } from 'playwright-core';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { builtPage } from './built-page.js';
import { handedOver } from './main-job.js';
import { measuredBlock, planOf, rowOf } from './measured-block.js';
import { openBrowser } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// What the tables of the standards say of a size, asked on the page; and a scan handed over in inches.

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

const slip = (page: Page, name: string) => page.getByRole('region', { name, exact: true });
const eventually = <T>(get: () => T) => expect.poll(get, { timeout: 20_000 });

async function select(page: Page, id: string): Promise<void> {
  await rowOf(page, id).locator('.what').first().click();
  await slip(page, `About ${id}`).waitFor();
}

/** ISO 273 has 15.5 mm for M14 medium and 16.5 for M14 coarse, ISO 286 0 to +18 µm for 16 H7 (both from memory). */
const SCREW = /Nearest clearance hole \(ISO 273\): M14 (medium|coarse)/;
const CLASS = /H7 of 16 mm: 16 to 16\.018 mm/;

test('a fitted hole is asked which screw it is for and whether it holds a class; the card says what the tables say', async () => {
  const { page, errors } = await measuredBlock(browser, served.url);
  await select(page, 'hole');
  await page.getByRole('button', { name: 'Change', exact: true }).click();
  const change = slip(page, 'Fit of hole');
  await change.getByLabel('Which screw the hole is for').check();
  await change.getByLabel('Class or fit').fill('H7');
  await change.getByRole('button', { name: 'Fit again' }).click();
  await change.waitFor({ state: 'detached' });
  await select(page, 'hole');
  const told = () => slip(page, 'About hole').textContent();
  await eventually(told).toMatch(SCREW);
  // Measured to a few hundredths, it may be H7 or not; the words say which ± would tell.
  expect(await told()).toMatch(CLASS);
  expect(await told()).toMatch(/measured 1[56]\.\d+ ± 0\.0\d+ mm: (within|outside) H7/);
  const fit = (await planOf(page)).steps.find(({ id }) => id === 'hole');
  expect(fit).toMatchObject({ shape: 'cylinder', screw: true, fit: 'H7' });
  expect(fit).not.toHaveProperty('nominal');

  // A class there is none of is refused with the nearest one.
  await page.getByRole('button', { name: 'Change', exact: true }).click();
  await change.getByLabel('Class or fit').fill('Q7');
  await change.getByRole('button', { name: 'Fit again' }).click();
  await eventually(() => page.getByRole('alert', { name: 'Refused' }).textContent()).toMatch(
    /"Q7" is no tolerance class/,
  );
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a size by hand is asked the same', async () => {
  const { page, errors } = await measuredBlock(browser, served.url);
  await select(page, 'hole');
  await page.keyboard.press('n');
  const hand = slip(page, 'By hand');
  const type = async (name: string | RegExp, text: string): Promise<void> => {
    await hand.getByLabel(name).fill(text);
    await hand.getByLabel(name).press('Tab');
  };
  await type('Reads', '16.01');
  await type(/^±/, '0.02');
  await hand.getByLabel('Which screw the hole is for').check();
  await hand.getByLabel('Class or fit').fill('H7/g6');
  await type('Nominal size', '16');
  await hand.getByRole('button', { name: 'Add to the sheet' }).click();
  await hand.waitFor({ state: 'detached' });
  const plan = await planOf(page);
  const { id } = plan.steps.at(-1)!;
  expect(plan.steps.at(-1)).toMatchObject({
    step: 'by-hand',
    size: 16.01,
    of: 'hole',
    screw: true,
    fit: 'H7/g6',
    nominal: 16,
  });
  await select(page, id);
  const told = () => slip(page, `About ${id}`).textContent();
  await eventually(told).toMatch(SCREW);
  // The scan shows the inside of a wall: it is the hole of the two.
  expect(await told()).toMatch(
    /H7\/g6 of 16 mm: clearance .*; as the hole measured 16\.01 ± 0\.02 mm: within H7 or outside/,
  );
  expect(await told()).not.toMatch(/as the shaft/);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('the scan in inches says so in its name, and is 25.4 times smaller', async () => {
  const { page, errors } = await measuredBlock(browser, served.url);
  await page.keyboard.press('h');
  const over = slip(page, 'Hand over');
  await over.getByLabel('Format').selectOption('stl');
  const sizeOf = async (unit: string): Promise<readonly [name: string, size: number]> => {
    await over.getByLabel('Unit').selectOption(unit);
    const saved = await handedOver(page, () => over.getByRole('button', { name: 'Scan', exact: true }).click());
    const bytes = await readFile(await saved.path());
    const geometry = new STLLoader().parse(Uint8Array.from(bytes).buffer);
    geometry.computeBoundingBox();
    return [saved.suggestedFilename(), geometry.boundingBox!.max.x - geometry.boundingBox!.min.x];
  };
  const [plain, long] = await sizeOf('mm');
  const [named, short] = await sizeOf('inch');
  expect(plain).toMatch(/datum(-\d+)?\.stl$/);
  expect(named).toMatch(/datum(-\d+)?\.inch\.stl$/);
  // An inch is 25.4 mm (ISO 80000-3).
  expect(long / short).toBeCloseTo(25.4, 4);
  expect(errors).toEqual([]);
  await page.context().close();
});
