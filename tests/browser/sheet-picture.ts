import type { Page } from 'playwright-core';

/** A section drawing as a page shows it. */
export interface SheetPicture {
  /** Its curves, xy xy … each, mm from the frame's origin, in the order drawn. */
  readonly curves: readonly Float64Array[];
  /** The pixel of the page that shows a place, mm. */
  pixelOf(place: readonly [number, number]): readonly [x: number, y: number];
}

/** Reads the drawing as it stands from its elements. */
export async function sheetPicture(page: Page): Promise<SheetPicture> {
  const { left, top, matrix, paths } = await page.locator('.section-drawing .sheet > svg').evaluate((svg) => {
    const { left, top } = svg.getBoundingClientRect();
    const group = svg.querySelector('.curve')!.parentElement!;
    const paths = Array.from(group.querySelectorAll('.curve'), (path) => path.getAttribute('d')!);
    return { left, top, matrix: group.getAttribute('transform')!, paths };
  });
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
