import type { Vec3 } from '@fettle/geom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { atRest } from './at-rest.js';
import { block as BLOCK, type BlockPicture, openBlock } from './block-picture.js';
import { builtPage } from './built-page.js';
import { planOf } from './measured-block.js';
import { openBrowser, watchedPage } from './open-browser.js';
import { colorDistance, type Pixels, pixelsOf, warmth } from './pixels.js';
import { type Served, serveFolder } from './serve-folder.js';

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

/** Places on the top of the block, in its axes, away from its hole and from under its ball. */
const TOP: readonly Vec3[] = [
  [20, 60, 0],
  [20, 15, 0],
  [60, 70, 0],
  [110, 10, 0],
];

/** On the ball, on the side seen first. */
const ON_BALL: Vec3 = [
  90 + 12 * Math.cos(0.4) * Math.cos(3),
  50 + 12 * Math.cos(0.4) * Math.sin(3),
  30 + 12 * Math.sin(0.4),
];

interface Block extends BlockPicture {
  readonly page: Page;
  readonly errors: string[];
  /** What the page looks like now. */
  look(): Promise<Pixels>;
}

/** A page of its own with the block open. */
async function onBlock(options: Parameters<typeof watchedPage>[1] = {}, before?: (page: Page) => Promise<unknown>) {
  const { page, errors } = await watchedPage(browser, options);
  await before?.(page);
  await page.goto(served.url);
  const picture = await openBlock(page);
  const look = (): Promise<Pixels> => pixelsOf(page.locator('body'));
  return { ...picture, page, errors, look } satisfies Block;
}

const isAmber = (pixels: Pixels, [x, y]: readonly [number, number]): boolean => warmth(pixels.at(x, y)) > 70;

interface Holding {
  holdPicks(): void;
  letPicksGo(): void;
}

/** Lets a test hold back what the page's worker answers when it is asked for places, as if it were busy. */
const holdPicks = (page: Page): Promise<unknown> =>
  page.addInitScript(() => {
    let held: (() => void)[] | undefined;
    const picks = new Set<unknown>();
    Object.assign(window, {
      holdPicks: () => {
        held = [];
      },
      letPicksGo: () => {
        for (const answer of held ?? []) answer();
        held = undefined;
      },
    } satisfies Holding);
    globalThis.Worker = class extends Worker {
      override postMessage(
        message: { readonly id?: unknown; readonly path?: readonly string[] },
        given?: unknown,
      ): void {
        if (message?.path?.at(-1) === 'pick') picks.add(message.id);
        super.postMessage(message, given as Transferable[]);
      }
      override addEventListener(type: string, listen: unknown, options?: unknown): void {
        const hear = (event: MessageEvent): void => {
          const tell = (): void => (listen as (event: MessageEvent) => void).call(this, event);
          if (held && picks.has(event.data?.id)) held.push(tell);
          else tell();
        };
        super.addEventListener(
          type,
          type === 'message' ? (hear as EventListener) : (listen as EventListener),
          options as AddEventListenerOptions,
        );
      }
    };
  });

/** A picture comes within this on any machine, ms. */
const LONGEST = 20_000;

/** Waits until a look at the page holds. */
async function until(block: Block, holds: (pixels: Pixels) => boolean): Promise<Pixels> {
  const end = Date.now() + LONGEST;
  let pixels = await block.look();
  while (!holds(pixels) && Date.now() < end) {
    await atRest(block.page);
    pixels = await block.look();
  }
  expect(holds(pixels)).toBe(true);
  return pixels;
}

/** Share of the upper half of the scene that looks different, by places on a grid. */
function shareChanged({ left, top }: Block, before: Pixels, after: Pixels): number {
  let [all, changed] = [0, 0];
  for (let x = left + 10; x < left + 800; x += 10)
    for (let y = top + 50; y < top + 350; y += 10) {
      all++;
      if (colorDistance(before.at(x, y), after.at(x, y)) > 12) changed++;
    }
  return changed / all;
}

const card = (page: Page) => page.getByRole('complementary', { name: 'What was chosen' });

/** How many the card says. */
async function pointsChosen(page: Page): Promise<number> {
  const [, count] = /([\d,]+) points/.exec((await card(page).textContent()) ?? '') ?? [];
  return Number(count?.replace(',', ''));
}

/** Grows on a place and waits for the fit. */
async function grow({ page, pixelOf }: Block, place: Vec3): Promise<void> {
  await page.keyboard.press('g');
  await page.mouse.click(...pixelOf(place));
  await card(page).getByText('rms', { exact: true }).waitFor();
}

describe('growing', () => {
  test('what would be chosen is amber under the hovering pointer, and nothing else is', async () => {
    const block = await onBlock();
    const before = await block.look();
    for (const place of TOP) expect(isAmber(before, block.pixelOf(place))).toBe(false);
    await block.page.keyboard.press('g');
    await block.page.mouse.move(...block.pixelOf(TOP[0]!));
    const shown = await until(block, (pixels) => isAmber(pixels, block.pixelOf(TOP[3]!)));
    for (const place of TOP.slice(1)) expect(isAmber(shown, block.pixelOf(place))).toBe(true);
    // The ball stands on nothing the top grows into, and paper is paper.
    expect(isAmber(shown, block.pixelOf(ON_BALL))).toBe(false);
    expect(colorDistance(shown.at(block.left + 5, block.top + 200), before.at(block.left + 5, block.top + 200))).toBe(
      0,
    );
    await block.page.mouse.move(block.left + 5, block.top + 200);
    await until(block, (pixels) => TOP.every((place) => !isAmber(pixels, block.pixelOf(place))));
    expect(block.errors).toEqual([]);
  });

  test('a click fits the shape suggested beside the pointer, enter keeps it, and its residuals are mapped', async () => {
    const block = await onBlock();
    const { page } = block;
    await grow(block, TOP[0]!);
    const shown = card(page);
    expect(await shown.getByRole('button', { name: 'plane', exact: true }).getAttribute('aria-pressed')).toBe('true');
    // 121 × 81 points of the top, a millimeter apart, of which the rim may be left out.
    const points = await pointsChosen(page);
    expect(points).toBeGreaterThan(9200);
    expect(points).toBeLessThanOrEqual(121 * 81);
    const box = (await shown.boundingBox())!;
    const [x, y] = block.pixelOf(TOP[0]!);
    const isBeside = x < box.x || x > box.x + box.width || y < box.y || y > box.y + box.height;
    expect(isBeside).toBe(true);

    await page.keyboard.press('Enter');
    const row = page.locator('tr[data-id=plane-1]');
    await row.waitFor();
    expect(await row.getAttribute('aria-selected')).toBe('true');
    const legend = page.locator('.legend');
    await legend.waitFor();
    // The noise is 0.02: two sigmas and a half round up to 0.05.
    expect(await legend.getByText('+0.05').count()).toBe(1);
    // Blue below, ochre above: a patch of noise has both, and no amber.
    const [mx, my] = block.pixelOf(TOP[2]!).map(Math.round) as [number, number];
    const about = async (): Promise<number[]> => {
      const pixels = await block.look();
      return Array.from({ length: 400 }, (_, i) => warmth(pixels.at(mx - 10 + (i % 20), my - 10 + ((i / 20) | 0))));
    };
    // The map comes once the fit has looked through its residuals.
    await expect.poll(async () => Math.min(...(await about()))).toBeLessThan(-25);
    expect(Math.max(...(await about()))).toBeGreaterThan(25);
    expect(block.errors).toEqual([]);
  });

  test('shift adds a patch, alt takes one away, escape lets go', async () => {
    const block = await onBlock();
    const { page } = block;
    const counted = () => pointsChosen(page);
    await grow(block, TOP[0]!);
    const top = await counted();
    const ball = block.pixelOf(ON_BALL);
    await page.keyboard.down('Shift');
    await page.mouse.click(...ball);
    await page.keyboard.up('Shift');
    await expect.poll(counted).toBeGreaterThan(top);
    await page.keyboard.down('Alt');
    await page.mouse.click(...ball);
    await page.keyboard.up('Alt');
    await expect.poll(counted).toBe(top);
    await page.keyboard.press('Escape');
    await card(page).waitFor({ state: 'detached' });
    await until(block, (pixels) => !isAmber(pixels, block.pixelOf(TOP[1]!)));
    expect(block.errors).toEqual([]);
  });
});

test('a click while something is kept leaves that as it is and begins anew after it', async () => {
  const block = await onBlock();
  const { page, pixelOf } = block;
  await page.keyboard.press('g');
  await page.mouse.click(...pixelOf(TOP[0]!));
  await card(page).waitFor();
  // Not fitted yet, it is kept once it is; the next click does not wait for that.
  await page.keyboard.press('Enter');
  await page.mouse.click(...pixelOf(ON_BALL));
  await page.locator('tr[data-id=plane-1]').waitFor({ timeout: 20_000 });
  // The ball has less than a tenth of the points of the top.
  await expect.poll(() => pointsChosen(page).catch(() => 0)).toSatisfy((points: number) => points > 0 && points < 2000);
  expect(await page.locator('tr[data-id]').count()).toBe(1);
  expect(block.errors).toEqual([]);
});

test('the angles of growing follow alt and the wheel, and the preview follows them', async () => {
  const block = await onBlock();
  const { page } = block;
  await page.keyboard.press('g');
  await page.mouse.move(...block.pixelOf(TOP[0]!));
  const says = page.locator('.hand-settings').getByText(/from point to point/);
  const angle = async (): Promise<number> => Number(/([\d.]+)°/.exec(await says.innerText())![1]);
  const before = await angle();
  await page.keyboard.down('Alt');
  await page.mouse.wheel(0, -100);
  await page.keyboard.up('Alt');
  await expect.poll(angle).toBeGreaterThan(before);
  expect(block.errors).toEqual([]);
});

test('a direction is typed as numbers beside the pointer, and the fit keeps to it', async () => {
  const block = await onBlock();
  const { page } = block;
  await grow(block, TOP[0]!);
  await card(page).getByLabel('Normal along').selectOption('numbers');
  const direction = card(page).getByRole('group', { name: 'Direction in the scan' });
  // The top's own, to four decimals.
  const normal = ['x', 'y', 'z'].map((_, k) => BLOCK.axes.z[k]!);
  for (const [k, axis] of ['x', 'y', 'z'].entries()) await direction.getByLabel(axis).fill(normal[k]!.toFixed(4));
  await direction.getByLabel('z').press('Tab');
  await expect.poll(() => card(page).getByText('rms', { exact: true }).count()).toBe(1);
  await page.keyboard.press('Enter');
  await page.locator('tr[data-id=plane-1]').waitFor({ timeout: 20_000 });
  expect((await planOf(page)).steps.at(-1)).toMatchObject({
    shape: 'plane',
    known: { direction: normal.map((part) => Number(part.toFixed(4))) },
  });
  expect(block.errors).toEqual([]);
});

describe('brush, box and outline', () => {
  /** Presses, moves over places, lets go. */
  async function drag(page: Page, places: readonly (readonly [number, number])[]): Promise<void> {
    await page.mouse.move(...places[0]!);
    await page.mouse.down();
    for (const place of places.slice(1)) await page.mouse.move(...place, { steps: 6 });
    await page.mouse.up();
  }

  test('the brush chooses where it went', async () => {
    const block = await onBlock();
    await block.page.keyboard.press('b');
    await drag(block.page, [block.pixelOf([20, 15, 0]), block.pixelOf([20, 60, 0])]);
    const shown = await until(block, (pixels) => isAmber(pixels, block.pixelOf([20, 40, 0])));
    expect(isAmber(shown, block.pixelOf([110, 10, 0]))).toBe(false);
    expect(block.errors).toEqual([]);
  });

  test('a box chooses what is seen inside, or all the way through', async () => {
    const block = await onBlock();
    const { page } = block;
    const counted = () => pointsChosen(page);
    const corners = [block.pixelOf([55, 25, 0]), block.pixelOf([75, 45, 0])] as const;
    await page.keyboard.press('x');
    await drag(page, corners);
    await card(page).getByText('rms', { exact: true }).waitFor();
    const seen = await counted();
    const middle: readonly [number, number] = [
      (corners[0][0] + corners[1][0]) / 2,
      (corners[0][1] + corners[1][1]) / 2,
    ];
    await until(block, (pixels) => isAmber(pixels, middle));
    // The foot lies behind.
    await page.getByLabel('all the way through').check();
    await drag(page, corners);
    await expect.poll(counted).toBeGreaterThan(seen + 50);
    expect(block.errors).toEqual([]);
  });

  test('an outline chooses what is seen inside it', async () => {
    const block = await onBlock();
    await block.page.keyboard.press('l');
    const around: Vec3[] = [
      [5, 5, 0],
      [35, 5, 0],
      [5, 75, 0],
    ];
    await drag(
      block.page,
      [...around, around[0]!].map((place) => block.pixelOf(place)),
    );
    const shown = await until(block, (pixels) => isAmber(pixels, block.pixelOf([12, 20, 0])));
    expect(isAmber(shown, block.pixelOf([30, 70, 0]))).toBe(false);
    expect(block.errors).toEqual([]);
  });
});

describe('moving the view', () => {
  test('turning goes about the place under the pointer, which stays there', async () => {
    const block = await onBlock();
    const { page } = block;
    // A small spot of amber is what the pointer holds.
    await page.keyboard.press('b');
    const spot = block.pixelOf([20, 60, 0]);
    await page.mouse.click(...spot);
    await until(block, (pixels) => isAmber(pixels, spot));
    const before = await block.look();
    await page.keyboard.press('v');
    await page.mouse.move(...spot);
    await page.mouse.down();
    await page.mouse.move(spot[0] + 40, spot[1] + 10, { steps: 5 });
    await page.mouse.move(spot[0] + 90, spot[1] + 25, { steps: 5 });
    await page.mouse.up();
    const isTurned = (after: Pixels): boolean => shareChanged(block, before, after) > 0.1;
    await until(block, (after) => isTurned(after) && isAmber(after, spot));
    // And so it stays.
    await atRest(page);
    const after = await block.look();
    expect(isAmber(after, spot)).toBe(true);
    expect(isTurned(after)).toBe(true);
    expect(block.errors).toEqual([]);
  });

  test('a turn that is over before its place is known has gone about that place once it is', async () => {
    const block = await onBlock({}, holdPicks);
    const { page } = block;
    await page.keyboard.press('b');
    const says = page.locator('.hand-settings').getByText(/^brush [\d.]+ mm/);
    const radius = async (): Promise<number> => Number(/[\d.]+/.exec(await says.innerText())![0]);
    const first = await radius();
    for (let i = 0; i < 8; i++) await page.keyboard.press('[');
    await expect.poll(radius).toBeLessThan(0.4 * first);
    const spot = block.pixelOf([20, 60, 0]);
    await page.mouse.click(...spot);
    await until(block, (pixels) => isAmber(pixels, spot));
    const before = await block.look();
    await page.keyboard.press('v');
    await page.evaluate(() => (window as unknown as Holding).holdPicks());
    await page.mouse.move(...spot);
    await page.mouse.down();
    await page.mouse.move(spot[0] + 120, spot[1] + 40, { steps: 5 });
    await page.mouse.up();
    const isTurned = (pixels: Pixels): boolean => shareChanged(block, before, pixels) > 0.1;
    // About the middle of the block for the time being: the place that was pressed is elsewhere.
    await until(block, (pixels) => isTurned(pixels) && !isAmber(pixels, spot));
    await page.evaluate(() => (window as unknown as Holding).letPicksGo());
    await until(block, (pixels) => isTurned(pixels) && isAmber(pixels, spot));
    expect(block.errors).toEqual([]);
  });

  test('zooming keeps the place under the pointer there', async () => {
    const block = await onBlock();
    const { page } = block;
    await page.keyboard.press('b');
    const spot = block.pixelOf([20, 60, 0]);
    await page.mouse.click(...spot);
    await until(block, (pixels) => isAmber(pixels, spot));
    await page.keyboard.press('v');
    await page.mouse.move(...spot);
    for (let i = 0; i < 4; i++) await page.mouse.wheel(0, -200);
    // Three times as large, the spot reaches where it did not.
    await until(block, (near) => isAmber(near, spot) && isAmber(near, [spot[0] - 40, spot[1]]));
    expect(block.errors).toEqual([]);
  });

  test('draws only when something changed', async () => {
    const block = await onBlock({}, async (page) => {
      await page.addInitScript(() => {
        const { clear } = WebGL2RenderingContext.prototype;
        Object.assign(window, { drawn: 0 });
        WebGL2RenderingContext.prototype.clear = function (mask) {
          (window as unknown as { drawn: number }).drawn++;
          clear.call(this, mask);
        };
      });
    });
    const { page } = block;
    const drawn = (): Promise<number> => page.evaluate(() => (window as unknown as { drawn: number }).drawn);
    const rest = await drawn();
    expect(rest).toBeGreaterThan(0);
    // A pointer that turns nothing draws nothing.
    await page.mouse.move(...block.pixelOf(TOP[0]!));
    await page.mouse.move(...block.pixelOf(TOP[1]!), { steps: 10 });
    await page.waitForTimeout(600);
    expect(await drawn()).toBe(rest);
    await page.keyboard.press('ArrowLeft');
    await atRest(page);
    const once = await drawn();
    expect(once).toBeGreaterThan(rest);
    expect(once).toBeLessThanOrEqual(rest + 4);
    await page.waitForTimeout(600);
    expect(await drawn()).toBe(once);
  });

  test('a graphics card that goes away and comes back is said, and everything is drawn again', async () => {
    const block = await onBlock();
    const { page } = block;
    await grow(block, TOP[0]!);
    const before = await until(block, (pixels) => isAmber(pixels, block.pixelOf(TOP[1]!)));
    await page.evaluate(() => {
      const canvas = document.querySelector<HTMLCanvasElement>('.scene > canvas')!;
      const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
      Object.assign(window, { lose });
      lose.loseContext();
    });
    await page.getByText('The graphics card went away').waitFor();
    await page.evaluate(() => (window as unknown as { lose: WEBGL_lose_context }).lose.restoreContext());
    const places = [...TOP, [90, 50, 42] as const, [40, 30, -5] as const].map((place) => block.pixelOf(place));
    await until(block, (after) => places.every(([x, y]) => colorDistance(before.at(x, y), after.at(x, y)) < 3));
    // And it goes on drawing.
    await page.keyboard.press('Escape');
    await until(block, (pixels) => !isAmber(pixels, block.pixelOf(TOP[1]!)));
    expect(block.errors.filter((text) => !/context/i.test(text))).toEqual([]);
  });
});

test('the keyboard alone chooses, keeps and looks along the axes', async () => {
  const block = await onBlock();
  const { page } = block;
  await page.keyboard.press('g');
  const { width, height } = (await page.locator('.scene > canvas').boundingBox())!;
  const [x, y] = block.pixelOf(TOP[1]!);
  let [cx, cy] = [block.left + width / 2, block.top + height / 2];
  for (; cx < x - 6; cx += 12) await page.keyboard.press('ArrowRight');
  for (; cx > x + 6; cx -= 12) await page.keyboard.press('ArrowLeft');
  for (; cy < y - 6; cy += 12) await page.keyboard.press('ArrowDown');
  for (; cy > y + 6; cy -= 12) await page.keyboard.press('ArrowUp');
  await page.keyboard.press('Space');
  await card(page).getByText('rms', { exact: true }).waitFor();
  await page.keyboard.press('4');
  await expect.poll(() => card(page).getByRole('button', { name: 'sphere' }).getAttribute('aria-pressed')).toBe('true');
  await page.keyboard.press('1');
  await card(page).getByText('rms', { exact: true }).waitFor();
  await page.keyboard.press('Enter');
  await page.locator('tr[data-id=plane-1]').waitFor();
  const before = await block.look();
  await page.getByRole('button', { name: 'Look from −z' }).press('Enter');
  await until(block, (after) => shareChanged(block, before, after) > 0.2);
  expect(block.errors).toEqual([]);
});

test('balloons lie apart from each other from every side, and pressing one selects its row', async () => {
  const block = await onBlock();
  const { page } = block;
  for (const place of TOP) {
    await grow(block, place);
    await page.keyboard.press('Enter');
    await card(page).waitFor({ state: 'detached' });
  }
  await expect.poll(() => page.locator('.balloons .ring').count()).toBe(TOP.length);
  for (const axis of ['x', '−x', 'y', '−y', 'z', '−z']) {
    await page.getByRole('button', { name: `Look from ${axis}`, exact: true }).click({ force: true });
    await atRest(page);
    const rings = await page
      .locator('.balloons .ring')
      .evaluateAll((all) => all.map((ring) => ['cx', 'cy', 'r'].map((name) => Number(ring.getAttribute(name)))));
    expect(rings).toHaveLength(TOP.length);
    for (const [i, [ax, ay, ar]] of rings.entries())
      for (const [bx, by, br] of rings.slice(i + 1))
        expect(Math.hypot(ax! - bx!, ay! - by!)).toBeGreaterThan(ar! + br!);
  }
  await page.locator('.balloons .balloon').nth(1).locator('.ring').click({ force: true });
  await expect.poll(() => page.locator('tr[data-id=plane-2]').getAttribute('aria-selected')).toBe('true');
  expect(await page.locator('tr[data-id=plane-1]').getAttribute('aria-selected')).toBe('false');
  expect(block.errors).toEqual([]);
});

test('dragging the grip moves the section, and what is before it is cut away', async () => {
  const block = await onBlock();
  const { page } = block;
  await page.keyboard.press('s');
  const grip = page.getByRole('button', { name: 'Move the section' });
  await grip.waitFor();
  await atRest(page);
  const at = page.locator('.section-drawing input[type=text], .section-drawing input[type=number]').first();
  const from = Number(await at.inputValue());
  const { x, y, width, height } = (await grip.boundingBox())!;
  await page.mouse.move(x + width / 2, y + height / 2);
  await page.mouse.down();
  await page.mouse.move(x + width / 2, y + height / 2 - 40, { steps: 8 });
  await page.mouse.up();
  await expect.poll(async () => Number(await at.inputValue())).toBeGreaterThan(from);
  await expect.poll(async () => (await grip.boundingBox())!.y).toBeLessThan(y - 20);
  await atRest(page);
  // The section is taken out of the picture and the block is whole again where it was cut away.
  const cut = await block.look();
  await page.getByLabel('cut away').uncheck();
  await until(block, (after) => shareChanged(block, cut, after) > 0.02);
  expect(block.errors).toEqual([]);
});
