import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { pngBytes } from '@fettle/io';
import { decodePng } from '../io/png-decode.js';
import { findBrowser } from './find-browser.js';
import { openBrowser, watchedPage } from './open-browser.js';

/**
 * The pictures README shows, from what `npm run demo` left in out/: the pump with its balloons, the head of the report as a browser
 * shows it, the sheet of the features from above.
 *
 *   npm run pictures
 */
const out = new URL('../../out/', import.meta.url);
const shown = new URL('../../examples/pump/', import.meta.url);

/** Fewest colors that serve a drawing and a shaded picture: a third of the bytes of true color. */
function save(name: string, png: Uint8Array): void {
  const bytes = pngBytes(decodePng(png), { palette: true });
  writeFileSync(fileURLToPath(new URL(name, shown)), bytes);
  console.log(`examples/pump/${name}: ${Math.round(bytes.length / 1000)} kB`);
}

const browser = await openBrowser(await findBrowser());
const { page } = await watchedPage(browser, { viewport: { width: 1160, height: 1500 } });
const open = (file: string): Promise<unknown> => page.goto(pathToFileURL(fileURLToPath(new URL(file, out))).href);

await open('report.html');
const header = await page.locator('.head').boundingBox();
save('report.png', await page.screenshot({ clip: { x: 0, y: 0, width: 1160, height: header!.y + 1060 } }));
await open('pump-sheet.svg');
const drawing = (await page.locator('svg').boundingBox())!;
const scale = 1200 / drawing.width;
const detailed = await watchedPage(browser, {
  viewport: { width: Math.ceil(drawing.width), height: Math.ceil(drawing.height) },
  deviceScaleFactor: scale,
});
await detailed.page.goto(page.url());
save('sheet.png', await detailed.page.screenshot());
save('pump.png', readFileSync(new URL('pump.png', out)));
await browser.close();
