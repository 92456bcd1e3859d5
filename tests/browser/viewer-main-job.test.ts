import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { datumFrame, vec3 } from '@fettle/geom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { circlesByKernel } from '../io/step-kernel.js';
import { atRest } from './at-rest.js';
import { builtPage } from './built-page.js';
import { type Replayed, replayed } from './handed-over.js';
import {
  actsOf,
  countActs,
  handedOver,
  longestCurveBy,
  pagePixel,
  sceneBox,
  toldOf,
  untilFitted,
  untilOpen,
  untilProfiled,
  untilRows,
} from './main-job.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { onPump, type PumpPicture, pumpPicture } from './pump-picture.js';
import { expectSame } from './same-results.js';
import { type Served, serveFolder } from './serve-folder.js';

/** Of the whole job, from open to export. */
const MOST_ACTS = 30;

let browser: Browser;
let served: Served;
let pageFolder: string;
let folder: string;
beforeAll(async () => {
  browser = await openBrowser();
  pageFolder = await builtPage();
  served = await serveFolder(pageFolder);
  folder = await mkdtemp(join(tmpdir(), 'fettle-main-job-'));
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await served?.close();
  await rm(folder, { recursive: true, force: true });
});

/** A page on which the pump is about to be opened. */
async function freshPage() {
  const watched = await watchedPage(browser);
  await countActs(watched.page);
  await watched.page.goto(served.url);
  return watched;
}

const named = (page: Page, name: string) => page.getByRole('button', { name, exact: true });

/** What must hold of the files of the job, however it was done. */
async function checkHandedOver({ page, command, sheets, step, names }: Replayed, { truth }: PumpPicture) {
  expect(names).toEqual(expect.arrayContaining(['plan.json', 'results.json', 'job-sheet.csv']));
  expect(names.filter((name) => /\.(step|svg|html|ply)$/.test(name)).length).toBeGreaterThanOrEqual(4);

  // The command, on the same scan by the plan handed over: the same to every digit shown, whatever the browser's engine.
  expect(sheets.command).toBe(sheets.page);
  expectSame(command.sheet, page.sheet, 'sheet');
  expectSame(command.features, page.features, 'features');
  expectSame(command.frames, page.frames, 'frames');

  // The frame lies on the pump's own, as far as its ± tells: two of its axes are turned about, as three planes turn them.
  const { x, y, z, origin } = page.frame!;
  const is = trueFrame({ truth });
  for (const [axis, own] of [
    [x, is.x],
    [y, is.y],
    [z, is.z],
  ] as const)
    expect(vec3.angleBetween(axis, own)).toBeLessThan(0.002);
  expect(vec3.distance(origin, is.origin)).toBeLessThan(0.3);

  // An independent kernel finds the circle in the STEP file, where the job sheet says it is.
  const hole = page.features.find(({ feature }) => feature.kind === 'circle')!;
  if (hole.feature.kind !== 'circle') throw new Error('no circle was handed over');
  const { center, radius } = hole.feature;
  const seen = await circlesByKernel(step);
  expect(seen.valid).toBe(true);
  const inFrame = [x, y, z].map((axis) => vec3.dot(axis, vec3.subtract(center, origin))) as unknown as vec3.Vec3;
  const nearest = Math.min(
    ...seen.circles.map((edge) => vec3.distance(edge.center!, inFrame) + Math.abs(edge.radius! - radius)),
  );
  expect(nearest).toBeLessThan(1e-6);
}

/** The frame the pump's own three faces give. */
const trueFrame = ({ truth: { onScan } }: Pick<PumpPicture, 'truth'>) =>
  datumFrame({ planes: [onScan.top, onScan.front, onScan.side] });

/** The circle on the job sheet is the left foot's hole, 18 mm across, within one and a half times what it says of itself. */
function checkHole({ page }: Replayed, { truth }: PumpPicture) {
  const row = page.sheet.find(({ what }) => what.startsWith('circle'))!;
  const told = (name: string) => row.values.find((value) => value.name === name)!;
  const [x, y] = trueFrame({ truth }).toFrame(truth.onScan['left-hole'].center);
  for (const [name, is] of [
    ['x', x],
    ['y', y],
    ['diameter', 18],
  ] as const)
    expect(Math.abs(told(name).value - is), name).toBeLessThan(1.5 * told(name).uncertainty!);
}

const pumpFile = async (): Promise<Uint8Array> => gunzipSync(await readFile(join(pageFolder, 'pump.ply.gz')));

describe('three faces, a datum frame on them, a section, a hole, handed over', () => {
  test('by pointing, in no more than 30 clicks and keys', async () => {
    const { page, errors } = await freshPage();
    await named(page, 'Open the demo pump').click();
    await untilOpen(page);
    const { x, y, width, height } = await sceneBox(page);
    let picture = pumpPicture(width, height);

    // A drag that begins on empty paper turns the pump about its middle, until the three faces are seen.
    await page.mouse.move(x + 20, y + height / 2);
    await page.mouse.down();
    await page.mouse.move(x + 20 - 60, y + height / 2 + 60);
    await page.mouse.up();
    await atRest(page);
    picture = picture.turned(-60, 60);

    await named(page, 'Grow').click();
    const choose = async (place: keyof typeof onPump) => {
      const told = await toldOf(page);
      await page.mouse.click(...(await pagePixel(page, picture, onPump[place])));
      await untilFitted(page, told);
    };
    const keep = async (rows: number) => {
      await page.locator('.draft-card .main').click();
      await untilRows(page, rows);
    };
    await choose('leftFoot');
    await page.keyboard.down('Shift');
    await choose('rightFoot');
    await page.keyboard.up('Shift');
    await keep(1);
    await choose('front');
    await keep(2);
    await choose('side');
    await keep(3);

    await named(page, 'Datum frame').click();
    await named(page, 'Set the frame').click();
    await untilRows(page, 4);

    await named(page, 'Section').click();
    await page.getByLabel('Where the section lies, typed, mm').click();
    await page.keyboard.press('Control+a');
    await page.keyboard.type('-1');
    await page.keyboard.press('Enter');
    await named(page, 'Keep section').click();
    await untilProfiled(page);
    const rim = await longestCurveBy(page, trueFrame(picture).toFrame(picture.truth.onScan['left-hole'].center), 11);
    await page.mouse.click(...rim);
    await page.locator('.stretch-card .main:enabled').click();
    await untilRows(page, 5);

    await named(page, 'Hand over').click();
    const download = await handedOver(page, () => named(page, 'All in one zip').click());
    const acts = await actsOf(page);
    expect(acts.length, acts.join(' ')).toBeLessThanOrEqual(MOST_ACTS);
    expect(errors).toEqual([]);
    const files = await replayed(await readFile(await download.path()), await pumpFile(), join(folder, 'pointing'));
    await checkHandedOver(files, picture);
    checkHole(files, picture);
    await page.context().close();
  }, 240_000);

  test('by keys alone', async () => {
    const { page, errors } = await freshPage();
    const { keyboard } = page;
    const press = async (key: string, times = 1) => {
      for (let i = 0; i < times; i++) await keyboard.press(key);
    };
    await press('p');
    await untilOpen(page);
    const { width, height } = await sceneBox(page);
    let picture = pumpPicture(width, height);
    for (let i = 0; i < 3; i++) {
      await press('ArrowLeft');
      picture = picture.turned(-24, 0);
    }
    for (let i = 0; i < 3; i++) {
      await press('ArrowDown');
      picture = picture.turned(0, 24);
    }
    await press('g');
    // The cross starts in the middle; arrows move it by 12 pixels, with ctrl by one.
    let cross: readonly [number, number] = [width / 2, height / 2];
    const moveTo = async (place: keyof typeof onPump) => {
      const [tx, ty] = picture.pixelOf(onPump[place]);
      for (const [k, keys] of [
        [0, ['ArrowLeft', 'ArrowRight']],
        [1, ['ArrowUp', 'ArrowDown']],
      ] as const) {
        const by = Math.round([tx, ty][k]! - cross[k]!);
        const key = keys[by < 0 ? 0 : 1];
        await press(key, Math.floor(Math.abs(by) / 12));
        await press(`Control+${key}`, Math.abs(by) % 12);
        cross = k === 0 ? [cross[0] + by, cross[1]] : [cross[0], cross[1] + by];
      }
    };
    const choose = async (place: keyof typeof onPump, key = 'Space') => {
      await moveTo(place);
      const told = await toldOf(page);
      await press(key);
      await untilFitted(page, told);
    };
    const keep = async (rows: number) => {
      await press('Enter');
      await untilRows(page, rows);
    };
    await choose('leftFoot');
    await choose('rightFoot', 'Shift+Space');
    await keep(1);
    await choose('front');
    await keep(2);
    await choose('side');
    await keep(3);

    await press('d');
    await page.locator('.slip .accept button:focus').waitFor();
    await keep(4);
    await press('v');
    await press('s');
    const level = page.getByLabel('Where the section lies, typed, mm');
    await level.waitFor();
    for (let i = 0; i < 60 && !(await level.evaluate((field) => field === document.activeElement)); i++)
      await press('Tab');
    await press('Control+a');
    await keyboard.type('-1');
    await press('Enter');
    await press('Enter');
    await untilProfiled(page);
    // A piece as round as the bolt holes, or the feet's corners: 9 mm.
    const isHole = async () => /^arc, radius (8\.[5-9]|9\.)/.test((await page.locator('.readout').textContent()) ?? '');
    for (let i = 0; i < 200 && !(await isHole()); i++) await press('.');
    expect(await isHole()).toBe(true);
    await press('Space');
    await page.locator('.stretch-card .main:enabled').waitFor();
    await keep(5);

    await press('h');
    await page.locator('.hand-all button:focus').waitFor();
    const download = await handedOver(page, () => press('Enter'));
    expect(await actsOf(page)).not.toContain('pointer');
    expect(errors).toEqual([]);
    const files = await replayed(await readFile(await download.path()), await pumpFile(), join(folder, 'keys'));
    await checkHandedOver(files, picture);
    await page.context().close();
  }, 240_000);
});
