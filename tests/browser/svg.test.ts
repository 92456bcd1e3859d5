import { createScan, cutMesh, type Section } from '@fettle/geom';
import { writeSvg } from '@fettle/io';
import type { Browser as Driven, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodePng } from '../io/png-decode.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { serveText } from './serve-text.js';

/** A block of 120 × 70 × 20 mm, cut in half: a rectangle of known size. */
function rectangle(): Section {
  const corner = (i: number): number[] => [i & 1 ? 120 : 0, i & 2 ? 70 : 0, i & 4 ? 20 : 0];
  const faces = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  const block = createScan({
    positions: Float64Array.from([0, 1, 2, 3, 4, 5, 6, 7].flatMap(corner)),
    triangles: Uint32Array.from(faces.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!])),
    name: 'block',
  });
  return cutMesh(block, { point: [0, 0, 10], normal: [0, 0, 1] });
}

/** CSS has 96 pixels to the inch. */
const PIXEL = 25.4 / 96;

let browser: Driven;
beforeAll(async () => {
  browser = await openBrowser();
});
afterAll(() => browser?.close());

/** Middles of the dark runs along a row or a column of the screen, pixels. */
async function darkRuns(page: Page, along: 'x' | 'y', at: number, from: number, to: number): Promise<number[]> {
  const clip =
    along === 'x'
      ? { x: from, y: Math.round(at), width: to - from, height: 1 }
      : { x: Math.round(at), y: from, width: 1, height: to - from };
  const { rgb } = decodePng(await page.screenshot({ clip }));
  // A line between two pixels darkens both a little: its middle is the mean, weighed by darkness.
  const runs: number[] = [];
  let [weight, sum] = [0, 0];
  for (let i = 0; i <= rgb.length / 3; i++) {
    const darkness = i < rgb.length / 3 ? 765 - rgb[3 * i]! - rgb[3 * i + 1]! - rgb[3 * i + 2]! : 0;
    if (darkness > 60) {
      weight += darkness;
      sum += darkness * (from + i + 0.5);
    } else if (weight > 0) {
      runs.push(sum / weight);
      [weight, sum] = [0, 0];
    }
  }
  return runs;
}

describe('a sheet in a browser at 96 pixels an inch', () => {
  test.each([
    [1, 120, 70],
    [0.5, 60, 35],
  ])('at the scale %d the outline is its size to the pixel', async (scale, wide, high) => {
    const served = await serveText(
      writeSvg(rectangle(), { scale, paper: 'A4 landscape', title: 'Block' }),
      'image/svg+xml',
    );
    const { page, errors } = await watchedPage(browser, { viewport: { width: 1200, height: 860 } });
    await page.goto(served.url);
    const { left, right, top, bottom } = await page.evaluate(() => {
      const { left, right, top, bottom } = document.querySelector('[data-part=shapes]')!.getBoundingClientRect();
      return { left, right, top, bottom };
    });
    const across = await darkRuns(page, 'x', top + 0.37 * (bottom - top), Math.floor(left) - 6, Math.ceil(right) + 6);
    const down = await darkRuns(page, 'y', left + 0.37 * (right - left), Math.floor(top) - 6, Math.ceil(bottom) + 6);
    expect(Math.abs(across.at(-1)! - across[0]! - wide / PIXEL)).toBeLessThanOrEqual(1);
    expect(Math.abs(down.at(-1)! - down[0]! - high / PIXEL)).toBeLessThanOrEqual(1);

    const bar = page.locator('[data-scale-bar]');
    const length = Number(await bar.getAttribute('data-scale-bar')) * scale;
    const box = (await bar.boundingBox())!;
    const ticks = await darkRuns(
      page,
      'x',
      box.y + 0.5 * box.height,
      Math.floor(box.x) - 4,
      Math.ceil(box.x + box.width) + 4,
    );
    expect(ticks).toHaveLength(11);
    ticks.forEach((tick, i) => {
      expect(Math.abs(tick - ticks[0]! - (i * length) / 10 / PIXEL)).toBeLessThanOrEqual(1);
    });
    expect(errors).toEqual([]);
    await served.close();
  });

  test('on a dark screen the paper is dark and the lines are light; printed it is black on white', async () => {
    const served = await serveText(writeSvg(rectangle(), { paper: 'A4 landscape' }), 'image/svg+xml');
    const { page } = await watchedPage(browser, { viewport: { width: 1200, height: 860 }, colorScheme: 'dark' });
    await page.goto(served.url);
    const paper = async (): Promise<number> =>
      decodePng(await page.screenshot({ clip: { x: 60, y: 60, width: 1, height: 1 } })).rgb[0]!;
    expect(await paper()).toBeLessThan(60);
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    expect(await paper()).toBe(255);
    await served.close();
  });
});
