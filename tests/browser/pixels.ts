import type { Locator } from 'playwright-core';

export type Rgb = readonly [r: number, g: number, b: number];

/** What a part of a page looks like, by CSS pixels from its top left. */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  at(x: number, y: number): Rgb;
}

/** A screenshot of an element with what lies over it, taken apart by the browser itself. */
export async function pixelsOf(element: Locator): Promise<Pixels> {
  const png = (await element.screenshot({ animations: 'disabled', caret: 'hide' })).toString('base64');
  const { width, height, text } = await element.page().evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const context = new OffscreenCanvas(image.width, image.height).getContext('2d')!;
    context.drawImage(image, 0, 0);
    const { data } = context.getImageData(0, 0, image.width, image.height);
    let letters = '';
    for (let i = 0; i < data.length; i += 4) letters += String.fromCharCode(data[i]!, data[i + 1]!, data[i + 2]!);
    return { width: image.width, height: image.height, text: btoa(letters) };
  }, png);
  const rgb = Buffer.from(text, 'base64');
  return {
    width,
    height,
    at(x, y) {
      const i = 3 * (Math.round(y) * width + Math.round(x));
      return [rgb[i]!, rgb[i + 1]!, rgb[i + 2]!];
    },
  };
}

/** How far apart two colors are, in steps of the screen: 0 to 441. */
export const colorDistance = (a: Rgb, b: Rgb): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** How much more red than blue: amber has much, gray none, blue less than none. */
export const warmth = ([r, , b]: Rgb): number => r - b;
