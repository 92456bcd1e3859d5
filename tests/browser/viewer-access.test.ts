import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { seriousFindings } from './accessibility.js';
import { atRest } from './at-rest.js';
import { builtPage } from './built-page.js';
import { pagePixel, sceneBox, toldOf, untilFitted, untilOpen, untilRows } from './main-job.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { onPump, pumpPicture } from './pump-picture.js';
import { type Served, serveFolder } from './serve-folder.js';

let browser: Browser;
let served: Served;
beforeAll(async () => {
  browser = await openBrowser();
  served = await serveFolder(await builtPage());
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await served?.close();
});

/** Controls that are partly off the screen, or under another thing, each by its name. */
const hiddenControls = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const found: string[] = [];
    for (const control of document.querySelectorAll<HTMLElement>(
      '.strip button, .title-block input, .slip > header button',
    )) {
      const { left, top, right, bottom } = control.getBoundingClientRect();
      const isOff = left < 0 || top < 0 || right > innerWidth + 0.5 || bottom > innerHeight + 0.5;
      const above = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
      if (isOff || (above && !control.contains(above) && !control.closest('fieldset')?.contains(above)))
        found.push(control.title || control.ariaLabel || control.outerHTML.slice(0, 80));
    }
    return found;
  });

const screens = [
  { name: 'a small screen in light', width: 1280, height: 720, colorScheme: 'light', hasTouch: false },
  { name: 'a small screen in dark', width: 1280, height: 720, colorScheme: 'dark', hasTouch: false },
  { name: 'a tablet in light', width: 1024, height: 768, colorScheme: 'light', hasTouch: true },
  { name: 'a tablet on end in dark', width: 820, height: 1180, colorScheme: 'dark', hasTouch: true },
] as const;

describe.each(screens)('on $name', ({ width, height, colorScheme, hasTouch }) => {
  test('nothing serious is found and no control is off the screen, empty, measured, on every slip and on the help', async () => {
    const { page, errors } = await watchedPage(browser, {
      viewport: { width, height },
      colorScheme,
      hasTouch,
      isMobile: hasTouch,
    });
    const check = async () => {
      expect(await seriousFindings(page)).toEqual([]);
      expect(await hiddenControls(page)).toEqual([]);
    };
    await page.goto(served.url);
    await page.locator('.open-page').waitFor();
    await check();
    await page.keyboard.press('?');
    await page.locator('dialog[open]').waitFor();
    expect(await seriousFindings(page)).toEqual([]);
    // The key that follows at once is for the page already.
    await page.keyboard.press('Escape');
    await page.keyboard.press('p');
    await untilOpen(page);
    const box = await sceneBox(page);
    const picture = pumpPicture(box.width, box.height);
    await page.keyboard.press('g');
    const told = await toldOf(page);
    await page.mouse.click(...(await pagePixel(page, picture, onPump.leftFoot)));
    await untilFitted(page, told);
    await check();
    await page.keyboard.press('Enter');
    await untilRows(page, 1);
    await check();
    for (const [key, title] of [
      ['d', 'Datum frame'],
      ['r', 'Relate'],
      ['n', 'By hand'],
      ['h', 'Hand over'],
    ] as const) {
      await page.keyboard.press(key);
      await page.getByRole('region', { name: title, exact: true }).waitFor();
      await check();
      await page.keyboard.press('Escape');
    }
    await page.keyboard.press('s');
    await page.locator('.section-drawing .curve').first().waitFor();
    await atRest(page);
    await check();
    expect(errors).toEqual([]);
    await page.context().close();
  }, 240_000);
});
