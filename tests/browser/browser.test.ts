import type { Browser as Driven } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openBrowser, watchedPage } from './open-browser.js';

let browser: Driven;
beforeAll(async () => {
  browser = await openBrowser();
});
afterAll(() => browser?.close());

test('the browser under test draws by WebGL 2, in the colors asked for', async () => {
  const { page, errors } = await watchedPage(browser);
  const pixel = await page.evaluate(() => {
    const gl = document.createElement('canvas').getContext('webgl2');
    if (!gl) return 'no WebGL 2';
    gl.clearColor(1, 0.2, 0, 1);
    gl.clear(gl.COLOR_BUFFER_BIT);
    const rgba = new Uint8Array(4);
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, rgba);
    return [...rgba];
  });
  expect(pixel).toEqual([255, 51, 0, 255]);
  expect(errors).toEqual([]);
});
