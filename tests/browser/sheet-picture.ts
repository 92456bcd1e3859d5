import type { Page } from 'playwright-core';
import { atRest } from './at-rest.js';

/** A section drawing as a page shows it. */
export interface SheetPicture {
  /** Its curves, xy xy … each, mm from the frame's origin, in the order drawn. */
  readonly curves: readonly Float64Array[];
  /** The pixel of the page that shows a place, mm. */
  pixelOf(place: readonly [number, number]): readonly [x: number, y: number];
}

/** A drawing that has not changed for so long is taken for drawn, ms: a cut just typed comes a moment after its drawing's frame. */
const UNCHANGED = 600;

const readSheet = (page: Page) =>
  page.locator('.section-drawing .sheet > svg').evaluate((svg) => {
    const { left, top } = svg.getBoundingClientRect();
    const group = svg.querySelector('.curve')!.parentElement!;
    const paths = Array.from(group.querySelectorAll('.curve'), (path) => path.getAttribute('d')!);
    return { left, top, matrix: group.getAttribute('transform')!, paths };
  });

/** Reads the drawing from its elements, once it is at rest. */
export async function sheetPicture(page: Page): Promise<SheetPicture> {
  let read = await readSheet(page);
  for (;;) {
    await page.waitForTimeout(UNCHANGED);
    await atRest(page);
    const again = await readSheet(page);
    const isSame = JSON.stringify(again) === JSON.stringify(read);
    read = again;
    if (isSame) break;
  }
  const { left, top, matrix, paths } = read;
  const [a, , , d, e, f] = matrix.match(/-?[\d.]+(e-?\d+)?/g)!.map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return {
    curves: paths.map((path) => Float64Array.from(path.match(/-?[\d.]+(e-?\d+)?/g)!.map(Number))),
    pixelOf: ([x, y]) => [left + a * x + e, top + d * y + f],
  };
}
