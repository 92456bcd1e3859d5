import { readFile } from 'node:fs/promises';
import { type ResultsJson, type Scan, type Step, vec3 } from '@fettle/geom';
import { planFromText, readScan } from '@fettle/io';
import { unzipSync } from 'fflate';
import type { Browser, Page } from 'playwright-core';
import type { BufferGeometry, Mesh } from 'three';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { circlesByKernel } from '../io/step-kernel.js';
import { block } from './block-picture.js';
import { builtPage } from './built-page.js';
import { handedOver } from './main-job.js';
import { blockPlan, measuredBlock } from './measured-block.js';
import { openBrowser } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// Each file the page hands over, saved by its own button and read back by what others read it with.

/** Across the hole, and square to its round in the plane of the cut. */
const cut: Step = { step: 'section', id: 'across', axis: 'z', at: -10, in: 'datum' };
const rim: Step = {
  step: 'fit',
  id: 'rim',
  shape: 'circle',
  to: 'across',
  in: 'datum',
  // The frame's x and y run against the block's own.
  stretch: { box: { min: [-49, -39, -11], max: [-31, -21, -9] } },
};

let browser: Browser;
let served: Served;
let page: Page;
beforeAll(async () => {
  served = await serveFolder(await builtPage());
  browser = await openBrowser();
  const plan = { ...blockPlan, title: 'The block, in its frame', steps: [...blockPlan.steps, cut, rim] };
  ({ page } = await measuredBlock(browser, served.url, { plan }));
  await page.keyboard.press('h');
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await served?.close();
});

const slip = () => page.getByRole('region', { name: 'Hand over', exact: true });

/** What a button of the slip saves. */
async function saved(
  button: string,
): Promise<{ readonly name: string; readonly bytes: Uint8Array; readonly text: string }> {
  const download = await handedOver(page, () => slip().getByRole('button', { name: button, exact: true }).click());
  const bytes = new Uint8Array(await readFile(await download.path()));
  const name = download.suggestedFilename();
  await slip().getByText(`Saved: ${name}`).waitFor();
  return { name, bytes, text: new TextDecoder().decode(bytes) };
}

const results = async (): Promise<ResultsJson> => JSON.parse((await saved('Results')).text) as ResultsJson;

/** The scan's own points in the frame that the results tell of. */
function inFrame({ frame }: ResultsJson): Float64Array {
  const { x, y, z, origin } = frame!;
  const out = new Float64Array(block.scan.positions.length);
  for (let i = 0; i < out.length; i += 3) {
    const [px, py, pz] = [0, 1, 2].map((k) => block.scan.positions[i + k]!) as [number, number, number];
    const d = vec3.subtract([px, py, pz], origin);
    out.set([vec3.dot(d, x), vec3.dot(d, y), vec3.dot(d, z)], i);
  }
  return out;
}

const box = (positions: ArrayLike<number>): number[] =>
  [0, 1, 2].flatMap((k) => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = k; i < positions.length; i += 3) {
      low = Math.min(low, positions[i]!);
      high = Math.max(high, positions[i]!);
    }
    return [low, high];
  });
/** Files hold single precision: a few thousandths of a micrometer at these sizes; 3MF and OBJ write decimals. */
const expectBox = (found: readonly number[], expected: readonly number[]): void =>
  found.forEach((side, k) => void expect(Math.abs(side - expected[k]!)).toBeLessThan(2e-4));

const buffer = (bytes: Uint8Array): ArrayBuffer => bytes.slice().buffer as ArrayBuffer;
const cornersOf = (geometry: BufferGeometry): number =>
  geometry.index?.count ?? geometry.getAttribute('position').count;

test('the caution stands above the files', async () => {
  expect(await slip().locator('.caution').innerText()).toMatch(/Check by hand every size that must fit before you cut/);
});

test('the plan: the steps as they stand, and what asks for the files', async () => {
  const { name, text } = await saved('Plan');
  expect(name).toBe('plan.json');
  const { steps, title } = planFromText(text, name);
  expect(title).toBe('The block, in its frame');
  expect(steps.filter(({ step }) => step !== 'deliver')).toEqual([...blockPlan.steps, cut, rim]);
  expect(steps.filter(({ step }) => step === 'deliver').length).toBeGreaterThanOrEqual(4);
});

test('the job sheet: a line for each value on the page, the same digits', async () => {
  const { name, text } = await saved('Job sheet');
  expect(name).toBe('job-sheet.csv');
  const lines = text.trim().split(/\r?\n/);
  const shown = await page.locator('.job-sheet tbody .value-line').count();
  expect(lines.filter((line) => /,(mm|°|deg)/.test(line)).length).toBeGreaterThanOrEqual(shown);
  const diameter = (await results()).sheet.find(({ id }) => id === 'hole')!.values.find((v) => v.name === 'diameter')!;
  const line = lines.find((one) => /hole/.test(one) && /diameter/.test(one))!;
  expect(line).toContain(diameter.value.toFixed(3));
});

test('the report: one page that stands alone, with every row and the caution', async () => {
  const { name, text } = await saved('Report');
  expect(name).toMatch(/\.html$/);
  const other = await page.context().newPage();
  await other.setContent(text);
  const told = await other.locator('body').innerText();
  for (const { id } of [...blockPlan.steps.filter(({ step }) => step !== 'region'), rim]) expect(told).toContain(id);
  expect(told).toMatch(/Check by hand every size that must fit/);
  // Nothing is loaded from elsewhere.
  expect(text).not.toMatch(/(?:src|href)="(?:https?:)?\/\//);
  await other.close();
});

test('geometry for CAD: an independent kernel finds the circle, where the job sheet says it is', async () => {
  const { name, bytes } = await saved('Geometry for CAD');
  expect(name).toMatch(/\.step$/);
  const seen = await circlesByKernel(bytes);
  expect(seen.valid).toBe(true);
  const { features, frame } = await results();
  const told = features.find(({ id }) => id === 'rim')!.feature;
  if (told.kind !== 'circle') throw new Error('the rim is no circle');
  const { x, y, z, origin } = frame!;
  const d = vec3.subtract(told.center, origin);
  const center = [x, y, z].map((axis) => vec3.dot(d, axis)) as unknown as vec3.Vec3;
  const off = seen.circles.map((edge) => vec3.distance(edge.center!, center) + Math.abs(edge.radius! - told.radius));
  expect(Math.min(...off)).toBeLessThan(1e-6);
});

test('the drawing of a section: true to scale, in millimeters', async () => {
  const { name, text } = await saved('Drawing of across');
  expect(name).toMatch(/\.svg$/);
  const other = await page.context().newPage();
  await other.setContent(text);
  const svg = other.locator('svg').first();
  const [wide, viewed] = await svg.evaluate((e) => [e.getAttribute('width'), e.getAttribute('viewBox')]);
  expect(wide).toMatch(/^[\d.]+mm$/);
  expect(Number.parseFloat(wide!)).toBeCloseTo(Number(viewed!.split(' ')[2]), 3);
  expect(await other.locator('svg').first().textContent()).toMatch(/across/);
  await other.close();
});

describe('the scan in the frame', () => {
  const readers: Readonly<Record<string, ((bytes: Uint8Array) => number) | undefined>> = {
    ply: (bytes) => cornersOf(new PLYLoader().parse(buffer(bytes))),
    stl: (bytes) => cornersOf(new STLLoader().parse(buffer(bytes))),
    obj: (bytes) =>
      new OBJLoader()
        .parse(new TextDecoder().decode(bytes))
        .children.reduce((sum, mesh) => sum + cornersOf((mesh as Mesh).geometry), 0),
  };

  test.each(['ply', 'stl', 'obj', '3mf'])('as %s', async (format) => {
    await slip().getByLabel('Format').selectOption(format);
    const { name, bytes } = await saved('Scan');
    expect(name).toMatch(new RegExp(`datum.*\\.${format}$`));
    const scan: Scan = await readScan(bytes);
    expect(scan.triangles!.length).toBe(block.scan.triangles!.length);
    expectBox(box(scan.positions), box(inFrame(await results())));
    if (readers[format]) expect(readers[format](bytes)).toBe(block.scan.triangles!.length);
  });

  test('with fewer triangles', async () => {
    await slip().getByLabel('Format').selectOption('ply');
    const count = slip().getByLabel('Simplified to');
    // Borders are kept as they are, and the block's patches have long ones: what cannot be is said.
    await count.fill('5000');
    await count.press('Tab');
    await slip().getByRole('button', { name: 'Scan', exact: true }).click();
    await page.getByText('it cannot come down to 5,000. Ask for more triangles').waitFor();
    await page.getByRole('button', { name: 'Put this note away' }).click();
    await count.fill('8000');
    await count.press('Tab');
    const scan = await readScan((await saved('Scan')).bytes);
    expect(scan.triangles!.length / 3).toBeLessThanOrEqual(8000);
    expect(scan.triangles!.length / 3).toBeGreaterThan(5000);
    const [found, whole] = [box(scan.positions), box(inFrame(await results()))];
    // The patches' own noise is 0.02.
    found.forEach((side, k) => void expect(Math.abs(side - whole[k]!)).toBeLessThan(0.5));
    await slip().getByLabel('Simplified to').fill('');
  });
});

test('all in one zip, named after the plan', async () => {
  const { name, bytes } = await saved('All in one zip');
  expect(name).toBe('The-block-in-its-frame.zip');
  const files = unzipSync(bytes);
  const ends = Object.keys(files).map((file) => file.slice(file.lastIndexOf('.') + 1));
  expect(ends.toSorted()).toEqual(['csv', 'html', 'json', 'json', 'ply', 'step', 'svg']);
  for (const file of Object.values(files)) expect(file.length).toBeGreaterThan(100);
});
