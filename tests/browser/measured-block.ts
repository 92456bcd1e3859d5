import { readFile } from 'node:fs/promises';
import { checkPlan, type Plan, type Vec3 } from '@fettle/geom';
import { planFromText } from '@fettle/io';
import type { Browser, BrowserContextOptions, Locator, Page } from 'playwright-core';
import { block, blockFile } from './block-picture.js';
import { handedOver } from './main-job.js';
import { watchedPage } from './open-browser.js';

const inScan = (place: Vec3): Vec3 => block.axes.toScan(place);
const face = (id: string, center: Vec3, radius: number, shape = 'plane') => [
  { step: 'region', id: `${id}-skin`, sphere: { center: [...inScan(center)], radius } },
  { step: 'fit', id, shape, to: `${id}-skin` },
];

/** Three faces of the block with the datum frame on them, its hole and its ball, and how far the ball is from the hole's axis. */
export const blockPlan: Plan = checkPlan({
  version: 1,
  title: 'Block',
  steps: [
    ...face('top', [70, 40, 0], 12),
    ...face('front', [60, -0.5, -10], 9),
    ...face('side', [-0.35, 40, -10], 9),
    { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] },
    // The wall alone: the top, which covers the hole, is 10 mm off.
    ...face('hole', [40, 30, -10], 9.8, 'cylinder'),
    ...face('ball', [90, 50, 30], 14, 'sphere'),
    { step: 'measure', id: 'apart', distance: ['hole', 'ball'] },
  ],
});

export const planFile = (plan: Plan, name = 'plan.json') => ({
  name,
  mimeType: 'application/json',
  buffer: Buffer.from(JSON.stringify(plan)),
});

export const rowOf = (page: Page, id: string): Locator => page.locator(`tr[data-id="${id}"]`);

/** A page of its own with the block measured by a plan. */
export async function measuredBlock(
  browser: Browser,
  url: string,
  { plan = blockPlan, ...options }: BrowserContextOptions & { readonly plan?: Plan } = {},
): Promise<{ readonly page: Page; readonly errors: readonly string[] }> {
  const { page, errors } = await watchedPage(browser, options);
  await page.goto(url);
  await page.locator('input[type=file]').setInputFiles([blockFile, planFile(plan)]);
  await rowOf(page, plan.steps.at(-1)!.id).locator('.number').first().waitFor({ timeout: 30_000 });
  return { page, errors };
}

/** The plan the page hands over as it stands, without the steps that ask for files. */
export async function planOf(page: Page): Promise<Plan> {
  // In a field the key would be typed.
  await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
  await page.keyboard.press('h');
  const download = await handedOver(page, () => page.getByRole('button', { name: 'Plan', exact: true }).click());
  const plan = planFromText(await readFile(await download.path(), 'utf8'), 'plan.json');
  await page.getByRole('button', { name: 'Put Hand over away' }).click();
  return { ...plan, steps: plan.steps.filter(({ step }) => step !== 'deliver') };
}

/** A value of a row as the job sheet shows it: the number, and what follows its ±, `given` or `exact`. */
export async function valueTold(
  page: Page,
  id: string,
  name: string,
): Promise<{ readonly value: number; readonly doubt: string }> {
  const line = rowOf(page, id)
    .locator('.value-line')
    .filter({ has: page.locator('.value-name', { hasText: new RegExp(`^${name}$`) }) });
  const value = Number((await line.locator('.number').innerText()).replace('−', '-'));
  return { value, doubt: (await line.locator('.doubt').innerText()).replace('± ', '') };
}
