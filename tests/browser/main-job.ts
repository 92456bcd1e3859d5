import type { Download, Page } from 'playwright-core';
import { atRest } from './at-rest.js';
import type { PumpPicture } from './pump-picture.js';

declare global {
  interface Window {
    /** Presses of a pointer and of keys that are no modifiers, as the page got them. */
    acts: string[];
  }
}

/** Writes down every press of pointer and key from the first page on. */
export const countActs = (page: Page): Promise<unknown> =>
  page.addInitScript(() => {
    window.acts = [];
    window.addEventListener('pointerdown', () => window.acts.push('pointer'), true);
    window.addEventListener(
      'keydown',
      ({ key }) => {
        if (!['Shift', 'Control', 'Alt', 'Meta'].includes(key)) window.acts.push(key);
      },
      true,
    );
  });

export const actsOf = (page: Page): Promise<readonly string[]> => page.evaluate(() => window.acts);

/** The scene's canvas on the page. */
export async function sceneBox(page: Page): Promise<{ x: number; y: number; width: number; height: number }> {
  const box = await page.locator('.scene > canvas').boundingBox();
  if (!box) throw new Error('the page has no scene');
  return box;
}

/** Once the pump is there, with its view. */
export async function untilOpen(page: Page): Promise<void> {
  await page.locator('.triad').waitFor({ timeout: 60_000 });
  await atRest(page);
}

/** Once what was chosen is fitted and can be kept; `before` is what the card told before. */
export const untilFitted = (page: Page, before: string): Promise<unknown> =>
  page.waitForFunction(
    (was) => {
      const told = document.querySelector('.draft-card header span')?.textContent;
      const keep = document.querySelector<HTMLButtonElement>('.draft-card .main');
      return told && told !== was && keep && !keep.disabled;
    },
    before,
    { timeout: 30_000 },
  );

/** What the card beside the pointer tells of the points chosen; empty without a card. */
export const toldOf = (page: Page): Promise<string> =>
  page.evaluate(() => document.querySelector('.draft-card header span')?.textContent ?? '');

/** Once the job sheet has so many numbered rows. */
export const untilRows = (page: Page, count: number): Promise<unknown> =>
  page.waitForFunction((n) => document.querySelectorAll('.job-sheet tbody .balloon').length === n, count, {
    timeout: 30_000,
  });

/** Once the section drawn is told apart into lines and arcs, and laid out. */
export async function untilProfiled(page: Page): Promise<void> {
  await page
    .locator('.profile-bar')
    .getByText(/\d lines?, \d+ arcs?/)
    .waitFor({ timeout: 60_000 });
  await atRest(page);
}

/** The middle of the longest curve of a section's drawing that stays within a radius of a place, its own mm; pixels of the page. */
export const longestCurveBy = (
  page: Page,
  [x, y]: readonly [number, number, number],
  radius: number,
): Promise<readonly [number, number]> =>
  page.evaluate(
    ([cx, cy, reach]) => {
      const curves = [...document.querySelectorAll<SVGPathElement>('.section-drawing .curve')].filter((curve) => {
        const { x: left, y: low, width, height } = curve.getBBox();
        return left > cx - reach && left + width < cx + reach && low > cy - reach && low + height < cy + reach;
      });
      const longest = curves.sort((a, b) => b.getTotalLength() - a.getTotalLength())[0]!;
      const { x: px, y: py } = longest.getPointAtLength(longest.getTotalLength() / 2);
      const at = new DOMPoint(px, py).matrixTransform(longest.getScreenCTM()!);
      return [at.x, at.y] as const;
    },
    [x, y, radius] as const,
  );

/** Waits for a file that is handed over while something is done. */
export async function handedOver(page: Page, act: () => Promise<unknown>): Promise<Download> {
  const [download] = await Promise.all([page.waitForEvent('download', { timeout: 60_000 }), act()]);
  return download;
}

/** Where a place on the pump is on the page. */
export async function pagePixel(
  page: Page,
  picture: PumpPicture,
  place: Parameters<PumpPicture['pixelOf']>[0],
): Promise<readonly [number, number]> {
  const { x, y } = await sceneBox(page);
  const [px, py] = picture.pixelOf(place);
  return [x + px, y + py];
}
