import { readFileSync } from 'node:fs';
import { checkPlan, runPlan } from '@fettle/geom';
import { reportHtml } from '@fettle/io';
import type { Browser as Driven } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { seriousFindings } from './accessibility.js';
import { openBrowser, type Watched, watchedPage } from './open-browser.js';

// The report of the pump, whose plan holds every kind of row, from a scan that is coarse but whole.
const plan = checkPlan(JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')));
const { scan } = scanPump({ triangles: 100_000 });
const report = reportHtml(runPlan(plan, scan), scan, {
  source: { file: 'pump-scan.ply', sha256: 'ab'.repeat(32), bytes: 3_000_000 },
  date: '2026-03-14',
});

let browser: Driven;
beforeAll(async () => {
  browser = await openBrowser();
});
afterAll(() => browser?.close());

const opened = async (options?: Parameters<typeof watchedPage>[1]): Promise<Watched> => {
  const watched = await watchedPage(browser, options);
  await watched.page.setContent(report, { waitUntil: 'load' });
  return watched;
};

describe('the report in a browser', () => {
  test('asks for nothing outside itself, and the console stays silent', async () => {
    const { page, errors, requests } = await opened();
    expect(requests).toEqual([]);
    expect(errors).toEqual([]);
    expect(await page.title()).toBe(`${plan.title}: ${scan.name}`);
    // Every picture is there: a broken one has no width.
    const widths = await page.$$eval('img', (images) => images.map((image) => image.naturalWidth));
    expect(widths.length).toBeGreaterThanOrEqual(3);
    expect(Math.min(...widths)).toBeGreaterThan(100);
  });

  test.each(['light', 'dark'] as const)('axe finds nothing serious, %s', async (colorScheme) => {
    const { page } = await opened({ colorScheme });
    expect(await seriousFindings(page)).toEqual([]);
  });

  test.each([1280, 768, 390])('nothing but wide tables reaches over a window of %i pixels', async (width) => {
    const { page } = await opened({ viewport: { width, height: 900 } });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    expect(over).toBeLessThanOrEqual(0);
  });

  test('prints on A4 with no table cut off', async () => {
    const { page } = await opened();
    // 210 mm less the margins the report asks for, at 96 pixels an inch.
    const width = Math.floor(((210 - 2 * 12) * 96) / 25.4);
    await page.setViewportSize({ width, height: 1000 });
    await page.emulateMedia({ media: 'print' });
    const clipped = await page.evaluate(
      (most) =>
        [...document.querySelectorAll('table, figure, pre, svg, img')]
          .filter((element) => {
            const { left, right } = element.getBoundingClientRect();
            return right > most + 0.5 || left < -0.5 || element.scrollWidth > element.clientWidth + 1;
          })
          .map((element) => element.outerHTML.slice(0, 80)),
      width,
    );
    expect(clipped).toEqual([]);
    const cells = await page.evaluate(() =>
      [...document.querySelectorAll('td, th')]
        .filter((cell) => cell.scrollWidth > cell.clientWidth + 1)
        .map((cell) => cell.textContent),
    );
    expect(cells).toEqual([]);
    const pdf = (await page.pdf({ format: 'A4', preferCSSPageSize: true, printBackground: true })).toString('latin1');
    expect(pdf.startsWith('%PDF-')).toBe(true);
    const pages = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    expect(pages).toBeGreaterThan(8);
    expect(pages).toBeLessThan(40);
    // A4 in points.
    expect(pdf).toMatch(/\/MediaBox\s*\[\s*0 0 59[45][.\d]* 84[12][.\d]*\s*\]/);
  });
});
