import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { atRest } from './at-rest.js';
import { builtPage } from './built-page.js';
import { blockPlan, measuredBlock, planOf, rowOf, valueTold } from './measured-block.js';
import { openBrowser } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// Rows are related, and the datum frame is set on them: what will come of it is seen before it is taken.

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

/** Selects rows in this order. */
async function select(page: Page, ...ids: readonly string[]): Promise<void> {
  for (const [i, id] of ids.entries())
    await rowOf(page, id)
      .locator('.what')
      .first()
      .click({ modifiers: i === 0 ? [] : ['Control'] });
}
const rowCount = (page: Page): Promise<number> => page.locator('.job-sheet .balloon').count();

describe('what can be made of rows is listed with its values before it is chosen', () => {
  const offer = (page: Page, words: RegExp) => page.locator('.offer').filter({ hasText: words });
  /** The first number an offer tells. */
  const told = async (page: Page, words: RegExp): Promise<number> =>
    Number((await offer(page, words).locator('.number').first().innerText()).replace('−', '-'));

  test('two rows: distance, angle, edge; the one chosen is a row of its own', async () => {
    const { page, errors } = await measuredBlock(browser, served.url);
    const rows = await rowCount(page);
    await select(page, 'front', 'side');
    await page.keyboard.press('r');
    await offer(page, /angle between/).waitFor({ timeout: 20_000 });
    // Leaning back by 3° and 2°, their normals are at 90° less what sin 3° · sin 2° makes: 89.895°.
    expect(Math.abs((await told(page, /angle between/)) - 89.895)).toBeLessThan(0.1);
    expect(await offer(page, /line where front and side meet/).count()).toBe(1);
    expect(await offer(page, /perpendicularity/).count()).toBe(2);
    expect(await rowCount(page)).toBe(rows);

    // The list follows the rows selected: from the ball's middle to the hole's axis it is √(50² + 20²).
    await select(page, 'hole', 'ball');
    await offer(page, /distance/)
      .first()
      .waitFor({ timeout: 20_000 });
    expect(Math.abs((await told(page, /distance/)) - Math.hypot(50, 20))).toBeLessThan(0.05);
    await offer(page, /distance/)
      .first()
      .click();
    await expect.poll(() => rowCount(page), { timeout: 20_000 }).toBe(rows + 1);
    expect((await planOf(page)).steps.at(-1)).toMatchObject({ step: 'measure', distance: ['hole', 'ball'] });
    expect(errors).toEqual([]);
    await page.context().close();
  });

  test('three rows: the corner of three faces; one row: what is built from it alone', async () => {
    const { page, errors } = await measuredBlock(browser, served.url);
    await select(page, 'top', 'front', 'side');
    await page.keyboard.press('r');
    await offer(page, /point where top, front and side meet/).waitFor({ timeout: 20_000 });
    await select(page, 'hole');
    await offer(page, /axis/).first().waitFor({ timeout: 20_000 });
    await page.keyboard.press('Escape');
    expect(errors).toEqual([]);
    await page.context().close();
  });
});

describe('the datum frame', () => {
  const unset = { ...blockPlan, steps: blockPlan.steps.slice(0, 6) };
  const slip = (page: Page) => page.getByRole('region', { name: 'Datum frame', exact: true });
  /** Where the letter of an axis stands on the triad, from its middle, pixels. */
  const letter = async (page: Page, axis: string): Promise<readonly [number, number]> => {
    const { x, y, width, height } = (await page
      .getByRole('button', { name: `Look from ${axis}`, exact: true })
      .boundingBox())!;
    const triad = (await page.locator('.triad svg').boundingBox())!;
    return [x + width / 2 - triad.x - triad.width / 2, y + height / 2 - triad.y - triad.height / 2];
  };

  test('is tried on the triad, told how square its faces are, flipped, and set', async () => {
    const { page, errors } = await measuredBlock(browser, served.url, { plan: unset });
    await expect.poll(() => page.locator('.triad legend').innerText()).toBe('axes of the scan');
    await page.keyboard.press('d');
    await slip(page).waitFor();
    await expect.poll(() => page.locator('.triad legend').innerText(), { timeout: 20_000 }).toBe('datum frame tried');
    const squareness = slip(page).locator('.squareness li');
    await expect.poll(() => squareness.count(), { timeout: 20_000 }).toBe(3);
    // The front leans back by 3°, the side by 2°.
    for (const [line, draft] of [
      [0, 3],
      [1, 2],
    ] as const) {
      const [, off] = /; ([\d.]+) ± [\d.]+° of draft or out of square/.exec(await squareness.nth(line).innerText())!;
      expect(Math.abs(Number(off) - draft)).toBeLessThan(0.1);
    }
    const [x, y] = await letter(page, 'x');
    await slip(page).getByRole('button', { name: 'Flip x' }).click();
    await expect
      .poll(async () => {
        const [fx, fy] = await letter(page, 'x');
        return Math.hypot(fx + x, fy + y);
      })
      .toBeLessThan(1.5);
    // Tried, it is no part of the plan yet.
    expect(await rowOf(page, 'datum-1').count()).toBe(0);
    await slip(page).getByRole('button', { name: 'Set the frame' }).click();
    await rowOf(page, 'datum-1').waitFor({ timeout: 20_000 });
    expect(await page.locator('.triad legend').innerText()).toBe('datum-1');
    expect((await planOf(page)).steps.at(-1)).toEqual({
      step: 'frame',
      id: 'datum-1',
      planes: ['top', 'front', 'side'],
      plus: { plane: 'z', line: '-x' },
    });
    expect(errors).toEqual([]);
    await page.context().close();
  });

  test('changed afterwards, all rows are told in it; views go along its axes', async () => {
    const { page, errors } = await measuredBlock(browser, served.url);
    const before = (await valueTold(page, 'ball', 'x')).value;
    expect(Math.abs(Math.abs(before) - 90)).toBeLessThan(5);
    await select(page, 'datum');
    await page.getByRole('button', { name: 'Change', exact: true }).click();
    const changed = page.getByRole('region', { name: 'Datum frame datum' });
    await changed.getByRole('button', { name: 'Flip x' }).click();
    await changed.getByRole('button', { name: 'Change the frame' }).click();
    await changed.waitFor({ state: 'detached', timeout: 20_000 });
    expect((await valueTold(page, 'ball', 'x')).value).toBeCloseTo(-before, 1);

    await page.getByRole('button', { name: 'Look from z', exact: true }).click({ force: true });
    await atRest(page);
    const places = await page
      .locator('.frame-letters text')
      .evaluateAll((texts) =>
        Object.fromEntries(
          texts.map((t) => [t.textContent, [Number(t.getAttribute('x')), Number(t.getAttribute('y'))]]),
        ),
      );
    const [[xx, xy], [yx, yy], [zx, zy]] = ['x', 'y', 'z'].map((name) => places[name] as [number, number]) as [
      [number, number],
      [number, number],
      [number, number],
    ];
    // Seen from z, x runs to the right of the origin and y up; z points at the eye.
    expect(Math.abs(xy - zy)).toBeLessThan(1);
    expect(xx - zx).toBeGreaterThan(40);
    expect(Math.abs(yx - zx)).toBeLessThan(1);
    expect(zy - yy).toBeGreaterThan(40);
    expect(errors).toEqual([]);
    await page.context().close();
  });
});

test('the page of help names the keys of everything, before there is a scan', async () => {
  const page = await browser.newPage();
  await page.goto(served.url);
  await page.locator('.open-page').waitFor();
  await expect.poll(() => page.locator('.strip').count()).toBe(1);
  await page.waitForLoadState('networkidle');
  await page.getByRole('button', { name: 'Help' }).click();
  const help = page.locator('dialog');
  for (const [place, words, key] of [
    ['Everywhere', 'Set the datum frame', 'D'],
    ['On the scan', 'Keep what was chosen', 'Enter'],
    ['On the job sheet', 'Rename the row selected', 'F2'],
    ['On the drawing of a section', 'Pick another piece, to measure between the two', 'Shift + Space'],
    ['On the drawing of a section', 'Shift the drawing', 'Shift + ← → ↑ ↓'],
  ] as const) {
    const row = help.getByRole('table', { name: place }).getByRole('row').filter({ hasText: words });
    expect(await row.locator('kbd').allInnerTexts(), words).toContain(key);
  }
  await page.close();
});
