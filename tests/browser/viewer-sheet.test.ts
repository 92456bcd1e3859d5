import { checkPlan } from '@fettle/geom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { builtPage } from './built-page.js';
import { blockPlan, measuredBlock, planOf, rowOf, valueTold } from './measured-block.js';
import { openBrowser } from './open-browser.js';
import { type Served, serveFolder } from './serve-folder.js';

// What a hand does on the job sheet, read off the sheet and off the plan that is handed over.

let browser: Browser;
let served: Served;
beforeAll(async () => {
  served = await serveFolder(await builtPage());
  browser = await openBrowser();
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await served?.close();
});

const onBlock = () => measuredBlock(browser, served.url);
/** Time enough on a busy machine. */
const eventually = <T>(get: () => T) => expect.poll(get, { timeout: 20_000 });
const ids = (page: Page): Promise<(string | null)[]> =>
  page.locator('.job-sheet tbody tr').evaluateAll((rows) => rows.map((row) => row.getAttribute('data-id')));
const balloons = (page: Page): Promise<string[]> => page.locator('.job-sheet tbody .balloon').allInnerTexts();
const named = (page: Page, name: string) => page.getByRole('button', { name, exact: true });
const slip = (page: Page, name: string) => page.getByRole('region', { name, exact: true });
const undone = (page: Page) => page.keyboard.press('Control+z');

/** Selects a row and nothing else. */
async function select(page: Page, id: string): Promise<void> {
  const row = rowOf(page, id);
  if ((await row.getAttribute('aria-selected')) === 'true') return;
  await row.locator('.what').first().click();
  await slip(page, `About ${id}`).waitFor();
}

test('another name: typed after F2, all that rests on the row follows, undo brings the first one back', async () => {
  const { page, errors } = await onBlock();
  await select(page, 'hole');
  await page.keyboard.press('F2');
  await page.getByLabel('Name of hole').fill('Bearing seat');
  await page.keyboard.press('Enter');
  await rowOf(page, 'bearing-seat').waitFor();
  expect(await rowOf(page, 'bearing-seat').getAttribute('aria-selected')).toBe('true');
  expect(await rowOf(page, 'apart').innerText()).toMatch(/bearing-seat/);
  expect((await planOf(page)).steps.at(-1)).toEqual({
    step: 'measure',
    id: 'apart',
    distance: ['bearing-seat', 'ball'],
  });
  // A name that is taken is refused, and nothing is lost.
  await page.locator('tr[data-id="bearing-seat"] .id').dblclick();
  await page.getByLabel('Name of bearing-seat').fill('ball');
  await page.keyboard.press('Enter');
  await eventually(() => page.getByRole('alert', { name: 'Refused' }).innerText()).toMatch(/ball/);
  expect(await ids(page)).toEqual(['top', 'front', 'side', 'datum', 'bearing-seat', 'ball', 'apart']);
  await undone(page);
  await rowOf(page, 'hole').waitFor();
  expect((await planOf(page)).steps).toEqual(blockPlan.steps);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('limits are typed on the card, the verdict is read on the row, and a limit inside the ± is unsure', async () => {
  const { page, errors } = await onBlock();
  await select(page, 'hole');
  await page.getByText('Limits', { exact: true }).click();
  const [least, most] = ['at least', 'at most'].map((end) => page.getByLabel(`diameter, ${end}`));
  const type = async (field: typeof least, text: string): Promise<void> => {
    await field!.fill(text);
    await field!.press('Tab');
  };
  const verdict = rowOf(page, 'hole').locator('.verdict');
  const said = async (): Promise<string> => (await verdict.innerText()).replace(/\s+/g, ' ');
  const { value, doubt } = await valueTold(page, 'hole', 'diameter');
  // ⌀ 16, noise 0.02 over more than a thousand points.
  expect(Math.abs(value - 16)).toBeLessThan(0.02);
  await type(least, '15,9');
  await eventually(said).toBe('at least 15.9 within');
  await type(most, '16.1');
  await eventually(said).toBe('15.9 to 16.1 within');
  expect(await page.locator('.run-state').innerText()).toBe('');
  await type(least, '16.05');
  await eventually(said).toBe('16.05 to 16.1 outside');
  await eventually(() => page.locator('.run-state').innerText()).toBe('✗ 1 limit not held');
  await type(least, String(value - Number(doubt) / 2));
  await eventually(said).toMatch(/ to 16\.1 within, unsure$/);
  // What is no number is not taken.
  await type(least, 'wide');
  expect(await least!.evaluate((field: HTMLInputElement) => field.validationMessage)).toMatch(/number, such as 12\.5/);
  expect(await said()).toMatch(/ to 16\.1 within, unsure$/);
  await type(least, '');
  await type(most, '');
  await eventually(() => verdict.count()).toBe(0);
  expect((await planOf(page)).steps).toEqual(blockPlan.steps);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('rows are put in another order, as far as what they rest on allows', async () => {
  const { page, errors } = await onBlock();
  const first = ['top', 'front', 'side', 'datum', 'hole', 'ball', 'apart'];
  expect(await ids(page)).toEqual(first);
  await select(page, 'ball');
  await page.keyboard.press('Alt+ArrowUp');
  await eventually(() => ids(page)).toEqual(['top', 'front', 'side', 'datum', 'ball', 'hole', 'apart']);
  // Balloons are numbered in the order of the sheet, and what is selected stays so.
  expect(await balloons(page)).toEqual(['1', '2', '3', '4', '5', '6', '7']);
  expect(await rowOf(page, 'ball').getAttribute('aria-selected')).toBe('true');
  await named(page, 'Down').click();
  await eventually(() => ids(page)).toEqual(first);
  await select(page, 'datum');
  await page.keyboard.press('Alt+ArrowUp');
  await eventually(() => page.getByRole('status', { name: 'Notes' }).innerText()).toMatch(
    /datum stays where it is: it rests on the row before it/,
  );
  expect(await ids(page)).toEqual(first);
  await page.keyboard.press('Escape');
  await eventually(() => page.locator('.job-sheet tr[aria-selected=true]').count()).toBe(0);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a row is taken out at once; one that others rest on only with them, after they are named', async () => {
  const { page, errors } = await onBlock();
  await select(page, 'apart');
  await page.keyboard.press('Delete');
  await eventually(() => rowOf(page, 'apart').count()).toBe(0);
  await undone(page);
  await rowOf(page, 'apart').waitFor();

  await select(page, 'hole');
  await page.keyboard.press('Delete');
  const asked = slip(page, 'Take out');
  await asked.waitFor();
  expect(await asked.locator('.named li').allInnerTexts()).toEqual(['apart']);
  await asked.getByRole('button', { name: 'Keep them' }).click();
  await asked.waitFor({ state: 'detached' });
  expect(await rowOf(page, 'hole').count()).toBe(1);

  await select(page, 'front');
  await named(page, 'Take out').click();
  expect(await asked.locator('.named li').allInnerTexts()).toEqual(['datum']);
  await asked.getByRole('button', { name: 'Take out all 2' }).click();
  await eventually(() => ids(page)).toEqual(['top', 'side', 'hole', 'ball', 'apart']);
  // The region made for it alone goes with it.
  expect((await planOf(page)).steps.map(({ id }) => id)).not.toContain('front-skin');
  await undone(page);
  await rowOf(page, 'datum').waitFor();
  expect((await planOf(page)).steps).toEqual(blockPlan.steps);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('keys go to the fields of a row and of the title; Enter takes what was typed, Escape does not, and the page has its keys again', async () => {
  const { page, errors } = await onBlock();
  const { keyboard } = page;
  await select(page, 'hole');
  await keyboard.press('m');
  await keyboard.type('for the pin');
  await keyboard.press('Enter');
  await eventually(() => rowOf(page, 'hole').innerText()).toMatch(/for the pin/);
  await keyboard.press('m');
  await keyboard.type(' or not');
  await keyboard.press('Escape');
  await keyboard.press('i');
  await keyboard.type('15,9');
  await keyboard.press('Enter');
  await eventually(() => rowOf(page, 'hole').locator('.verdict').count()).toBe(1);
  await keyboard.press('Shift+T');
  await keyboard.type('Block with a pin');
  await keyboard.press('Enter');
  await keyboard.press('e');
  await slip(page, 'Fit of hole').waitFor();
  await keyboard.press('Escape');
  await slip(page, 'Fit of hole').waitFor({ state: 'detached' });

  await select(page, 'datum');
  await keyboard.press('e');
  await slip(page, 'Datum frame datum').locator('.accept button:focus').waitFor();
  await keyboard.press('x');
  await keyboard.press('Enter');
  await slip(page, 'Datum frame datum').waitFor({ state: 'detached' });
  const { title, steps } = await planOf(page);
  expect(title).toBe('Block with a pin');
  expect(steps.find(({ id }) => id === 'hole')).toMatchObject({ note: 'for the pin' });
  expect(steps.find(({ id }) => id === 'datum')).toMatchObject({ plus: { line: '-x' } });
  expect(errors).toEqual([]);
  await page.context().close();
});

test('every field has a tooltip', async () => {
  const { page } = await onBlock();
  const bare = (): Promise<string[]> =>
    page
      .locator('.side :is(input, select), .draft-card :is(input, select)')
      .evaluateAll((fields) =>
        (fields as HTMLInputElement[])
          .filter((field) => !field.title && !field.closest<HTMLElement>('label, tr')?.title && field.type !== 'file')
          .map((field) => field.outerHTML.slice(0, 100)),
      );
  expect(await bare()).toEqual([]);
  for (const id of ['hole', 'top']) {
    await select(page, id);
    expect(await bare()).toEqual([]);
    await page.keyboard.press('e');
    await slip(page, `Fit of ${id}`).waitFor();
    for (const known of await page.getByLabel('Known from').all()) await known.selectOption('number');
    expect(await bare()).toEqual([]);
    await page.keyboard.press('Escape');
  }
  for (const [key, title] of [
    ['d', 'Datum frame'],
    ['n', 'By hand'],
    ['h', 'Hand over'],
  ] as const) {
    await page.keyboard.press(key);
    await slip(page, title).waitFor();
    expect(await bare()).toEqual([]);
    await page.keyboard.press('Escape');
  }
  await page.context().close();
});

describe('by hand', () => {
  /** Fills the slip in for a caliper's reading of the hole. */
  async function read(page: Page, value: string, doubt: string, use?: RegExp): Promise<void> {
    await select(page, 'hole');
    await page.keyboard.press('n');
    const form = slip(page, 'By hand');
    await form.waitFor();
    const add = form.getByRole('button', { name: 'Add to the sheet' });
    expect(await add.isDisabled()).toBe(true);
    expect(await form.innerText()).toMatch(/Type what the instrument read, more than 0/);
    expect(await form.getByLabel('Of').inputValue()).toBe('hole');
    await form.getByLabel('Reads').fill(value);
    await form.getByRole('textbox', { name: '± mm' }).fill(doubt);
    if (use) await form.getByLabel(use).check();
    await form.getByLabel('Name').fill('Caliper');
    await add.click();
    await form.waitFor({ state: 'detached' });
    await rowOf(page, 'caliper').waitFor();
  }

  test('a size is a row of its own, held against what the scan says', async () => {
    const { page, errors } = await onBlock();
    await read(page, '16.3', '0.05');
    const row = await rowOf(page, 'caliper').innerText();
    expect(row).toMatch(/hole/);
    const [size, difference] = [await valueTold(page, 'caliper', 'diameter'), (await planOf(page)).steps.at(-1)];
    expect(size).toEqual({ value: 16.3, doubt: '0.050' });
    expect(difference).toMatchObject({ step: 'by-hand', size: 16.3, of: 'hole', uncertainty: 0.05 });
    expect(errors).toEqual([]);
    await page.context().close();
  });

  test('taken as it stands, the hole has its size; the scan gives the place', async () => {
    const { page, errors } = await onBlock();
    await read(page, '16.1', '0.05', /take it as it stands/);
    const steps = (await planOf(page)).steps;
    expect(steps.find(({ id }) => id === 'hole')).toMatchObject({ known: { diameter: 'caliper' } });
    expect(await ids(page)).toEqual(['top', 'front', 'side', 'datum', 'caliper', 'hole', 'ball', 'apart']);
    const { value } = await valueTold(page, 'hole', 'diameter');
    expect(value).toBeCloseTo(16.1, 6);
    expect(errors).toEqual([]);
    await page.context().close();
  });

  test('weighed in, each by its ±, the hole lies between caliper and scan', async () => {
    const { page, errors } = await onBlock();
    const scan = await valueTold(page, 'hole', 'diameter');
    await read(page, '16.04', scan.doubt, /weigh it in/);
    expect((await planOf(page)).steps.find(({ id }) => id === 'hole')).toMatchObject({
      known: { diameter: { from: 'caliper', prior: true } },
    });
    const both = await valueTold(page, 'hole', 'diameter');
    // Two of the same ± weigh the same (JCGM 100, the mean weighted by 1/u²), and the mean's is 1/√2 of it.
    expect(both.value).toBeCloseTo((scan.value + 16.04) / 2, 2);
    // Both are shown to thousandths.
    expect(Math.abs(Number(both.doubt) - Number(scan.doubt) * Math.SQRT1_2)).toBeLessThan(0.0011);
    expect(errors).toEqual([]);
    await page.context().close();
  });

  test('a distance between two rows stands beside the one the scan tells; along an axis between places alone', async () => {
    const plan = checkPlan({
      ...blockPlan,
      steps: [
        ...blockPlan.steps.slice(0, -1),
        { step: 'construct', id: 'corner', intersect: ['top', 'front', 'side'] },
        ...blockPlan.steps.slice(-1),
      ],
    });
    const { page, errors } = await measuredBlock(browser, served.url, { plan });
    await rowOf(page, 'top').locator('.what').first().click();
    await rowOf(page, 'ball')
      .locator('.what')
      .first()
      .click({ modifiers: ['Control'] });
    await page.keyboard.press('n');
    const form = slip(page, 'By hand');
    expect(await form.getByLabel('From').inputValue()).toBe('top');
    // A plane has no place of its own.
    expect(await form.getByLabel('Only along').count()).toBe(0);
    await form.getByLabel('From').selectOption('corner');
    await form.getByLabel('Only along').selectOption('z');
    await form.getByLabel('Reads').fill('30.1');
    await form.getByLabel('Note').fill('depth gauge over the ball');
    await form.getByLabel('With').fill('depth gauge');
    await form.getByRole('button', { name: 'Add to the sheet' }).click();
    const row = rowOf(page, 'by-hand-1');
    await row.waitFor();
    expect(await row.innerText()).toMatch(/depth gauge over the ball/);
    expect(await valueTold(page, 'by-hand-1', 'distance')).toMatchObject({ value: 30.1 });
    expect((await planOf(page)).steps.at(-1)).toEqual({
      step: 'by-hand',
      id: 'by-hand-1',
      note: 'depth gauge over the ball',
      instrument: 'depth gauge',
      distance: 30.1,
      between: ['corner', 'ball'],
      along: 'z',
      in: 'datum',
    });
    expect(errors).toEqual([]);
    await page.context().close();
  });
});

describe('what is known of a fit', () => {
  test('changed afterwards: a diameter and a direction are typed as numbers, or taken from a row', async () => {
    const { page, errors } = await onBlock();
    await select(page, 'hole');
    await named(page, 'Change').click();
    const form = slip(page, 'Fit of hole');
    await form.getByLabel('Known from').selectOption('number');
    await form.getByRole('textbox', { name: 'Is mm' }).fill('16.2');
    await form.getByLabel('Along').selectOption('numbers');
    const direction = form.getByRole('group', { name: 'Direction in datum' });
    for (const [axis, part] of [
      ['x', '0'],
      ['y', '0.05'],
      ['z', '1'],
    ] as const)
      await direction.getByLabel(axis).fill(part);
    await form.getByRole('button', { name: 'Fit again' }).click();
    await form.waitFor({ state: 'detached' });
    expect((await planOf(page)).steps.find(({ id }) => id === 'hole')).toMatchObject({
      known: { diameter: 16.2, direction: [0, 0.05, 1] },
      in: 'datum',
    });
    expect(await valueTold(page, 'hole', 'diameter')).toEqual({ value: 16.2, doubt: 'given' });
    // atan 0.05 is 2.862°.
    expect((await valueTold(page, 'hole', 'angle z')).value).toBeCloseTo(2.862, 2);

    await named(page, 'Change').click();
    expect(await form.getByLabel('Along').evaluate((field: HTMLSelectElement) => field.selectedOptions[0]!.text)).toBe(
      'numbers',
    );
    await form.getByLabel('Along').selectOption('top');
    await form.getByLabel('Known from').selectOption('scan');
    await form.getByRole('button', { name: 'Fit again' }).click();
    await form.waitFor({ state: 'detached' });
    const hole = (await planOf(page)).steps.find(({ id }) => id === 'hole')!;
    expect(hole).toMatchObject({ known: { direction: 'top' } });
    expect(hole).not.toHaveProperty('in');
    expect(errors).toEqual([]);
    await page.context().close();
  });
});
