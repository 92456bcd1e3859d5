import type { Vec3 } from '@fettle/geom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { atRest } from './at-rest.js';
import { type BlockPicture, openBlock } from './block-picture.js';
import { builtPage } from './built-page.js';
import { measuredBlock } from './measured-block.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { type Pixels, pixelsOf, warmth } from './pixels.js';
import { type Served, serveFolder } from './serve-folder.js';
import { sheetPicture } from './sheet-picture.js';
import { Fingers } from './touch.js';

// A tablet: fingers turn, shift and enlarge the scan, and choose on it.

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

const TABLET = { viewport: { width: 1024, height: 768 }, hasTouch: true, isMobile: true } as const;
/** On the top of the block. */
const SPOT: Vec3 = [30, 55, 0];

type Place = readonly [number, number];

/** Amber in a picture: where its middle is and how wide it reaches, pixels. */
function amber(pixels: Pixels): { readonly middle: Place; readonly width: number } {
  let [count, sx, sy, left, right] = [0, 0, 0, Infinity, -Infinity];
  for (let y = 0; y < pixels.height; y += 2)
    for (let x = 0; x < pixels.width; x += 2)
      if (warmth(pixels.at(x, y)) > 70) {
        count++;
        sx += x;
        sy += y;
        left = Math.min(left, x);
        right = Math.max(right, x);
      }
  return { middle: [sx / count, sy / count], width: right - left };
}

/** Taps a button that stays pressed, until it is: what a tap does comes some time after it. */
async function tapOn(page: Page, name: string): Promise<void> {
  const button = page.getByRole('button', { name, exact: true });
  await button.tap();
  await expect.poll(() => button.getAttribute('aria-pressed')).toBe('true');
}

/** The block on a tablet, with a round spot of its top chosen by a finger: what is amber is on the scan. */
async function withSpot(): Promise<{
  page: Page;
  errors: string[];
  picture: BlockPicture;
  fingers: Fingers;
  spot: Place;
}> {
  const { page, errors } = await watchedPage(browser, TABLET);
  await page.goto(served.url);
  const picture = await openBlock(page);
  await tapOn(page, 'Brush');
  const spot = picture.pixelOf(SPOT);
  await page.touchscreen.tap(...spot);
  await page.locator('.draft-card').getByText('rms', { exact: true }).waitFor({ timeout: 20_000 });
  await tapOn(page, 'Turn');
  return { page, errors, picture, fingers: await Fingers.on(page), spot };
}

/** The scene alone: what lies over it has amber of its own. */
async function spotSeen(page: Page): Promise<ReturnType<typeof amber>> {
  await atRest(page);
  await page.locator('.draft-card').evaluate((card) => card.setAttribute('hidden', ''));
  const { x, y } = (await page.locator('.scene > canvas').boundingBox())!;
  const { middle, width } = amber(await pixelsOf(page.locator('.scene > canvas')));
  return { middle: [middle[0] + x, middle[1] + y], width };
}

const between = (a: Place, b: Place): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

test('one finger turns about the place it is on, which stays under it', async () => {
  const { page, errors, fingers, spot } = await withSpot();
  const before = await spotSeen(page);
  expect(between(before.middle, spot)).toBeLessThan(3);
  const axis = page.getByRole('button', { name: 'Look from z', exact: true });
  const letter = (await axis.boundingBox())!;
  await fingers.drag([spot], [[spot[0] + 90, spot[1] + 20]]);
  // It is turned: the letters of the triad went on.
  const turned = async (): Promise<number> => {
    const now = (await axis.boundingBox())!;
    return Math.hypot(now.x - letter.x, now.y - letter.y);
  };
  await expect.poll(turned).toBeGreaterThan(5);
  await expect.poll(async () => between((await spotSeen(page)).middle, spot)).toBeLessThan(4);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('two fingers that go apart enlarge what is between them, and it stays there', async () => {
  const { page, errors, fingers, spot } = await withSpot();
  const before = await spotSeen(page);
  const [x, y] = spot;
  await fingers.drag(
    [
      [x - 40, y],
      [x + 40, y],
    ],
    [
      [x - 80, y],
      [x + 80, y],
    ],
  );
  const after = await spotSeen(page);
  expect(between(after.middle, spot)).toBeLessThan(5);
  expect(after.width / before.width).toBeGreaterThan(1.8);
  expect(after.width / before.width).toBeLessThan(2.2);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('two fingers that go together shift the scan by as much', async () => {
  const { page, errors, fingers, spot } = await withSpot();
  const before = await spotSeen(page);
  const [x, y] = spot;
  await fingers.drag(
    [
      [x - 50, y],
      [x + 50, y],
    ],
    [
      [x + 10, y - 60],
      [x + 110, y - 60],
    ],
  );
  const after = await spotSeen(page);
  expect(between(after.middle, [before.middle[0] + 60, before.middle[1] - 60])).toBeLessThan(5);
  expect(after.width / before.width).toBeCloseTo(1, 1);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('a tap grows, a second one is added where the page is set to, and it is kept by a tap', async () => {
  const { page, errors } = await watchedPage(browser, TABLET);
  await page.goto(served.url);
  const picture = await openBlock(page);
  await tapOn(page, 'Grow');
  const points = async (): Promise<number> =>
    Number(/([\d,]+) points/.exec((await page.locator('.draft-card').allInnerTexts()).join())?.[1]?.replace(',', ''));
  const ready = page.locator('.draft-card .main:enabled');
  await page.touchscreen.tap(...picture.pixelOf([20, 15, 0]));
  await ready.waitFor({ timeout: 20_000 });
  const top = await points();
  await tapOn(page, 'add');
  await page.touchscreen.tap(...picture.pixelOf([90 - 11, 50 + 1.5, 35]));
  await expect.poll(points).toBeGreaterThan(top);
  await ready.tap({ timeout: 20_000 });
  await page.locator('.job-sheet .balloon').waitFor({ timeout: 20_000 });
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);

test('on the drawing of a section two fingers shift and enlarge, one shifts', async () => {
  const { page, errors } = await measuredBlock(browser, served.url, TABLET);
  await page.getByRole('button', { name: 'Section' }).tap();
  await page.locator('.section-drawing .curve').first().waitFor({ timeout: 20_000 });
  const fingers = await Fingers.on(page);
  await atRest(page);
  const { x: left, y: top, width, height } = (await page.locator('.section-drawing .sheet').boundingBox())!;
  const [x, y] = [left + width / 2, top + height / 2];
  const places = async (): Promise<readonly [Place, Place]> => {
    const { pixelOf } = await sheetPicture(page);
    return [pixelOf([0, 0]), pixelOf([10, 0])];
  };
  const [first, beside] = await places();
  await fingers.drag(
    [
      [x - 50, y],
      [x + 50, y],
    ],
    [
      [x - 100, y],
      [x + 100, y],
    ],
  );
  const [large, besideLarge] = await places();
  expect(between(large, besideLarge) / between(first, beside)).toBeCloseTo(2, 1);
  // Twice as far from what was between the fingers.
  expect(between(large, [x + 2 * (first[0] - x), y + 2 * (first[1] - y)])).toBeLessThan(6);
  // In a corner without a curve.
  const from: Place = [left + width - 30, top + height - 60];
  await fingers.drag([from], [[from[0] - 40, from[1] - 20]]);
  const [shifted] = await places();
  expect(between(shifted, [large[0] - 40, large[1] - 20])).toBeLessThan(1);
  expect(errors).toEqual([]);
  await page.context().close();
}, 90_000);
