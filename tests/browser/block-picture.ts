import type { Vec3 } from '@fettle/geom';
import { bytesOf, writePly } from '@fettle/io';
import type { Page } from 'playwright-core';
import { firstLook } from '../../packages/viewer/src/scene/first-look.js';
import { fitted, lookingFrom, pixelOf, type Rig } from '../../packages/viewer/src/scene/rig.js';
import { drawnSurface } from '../../packages/viewer/src/worker/drawn-surface.js';
import { part } from '../geom/plan-part.js';
import { atRest } from './at-rest.js';

/** The block of the plan tests, with the noise of a fine scan. */
export const block = part({ noise: 0.02, step: 1 });

/** The block as a file. */
export const blockFile = {
  name: 'block.ply',
  mimeType: 'application/octet-stream',
  buffer: Buffer.from(bytesOf(writePly(block.scan))),
};

/** Where a page shows places of the block, given in the block's own axes: pixels of the page. */
export interface BlockPicture {
  readonly left: number;
  readonly top: number;
  pixelOf(place: Vec3): readonly [x: number, y: number];
}

/** Opens the block on a page that is loaded. @returns where it is shown at first */
export async function openBlock(page: Page): Promise<BlockPicture> {
  await page.locator('input[type=file]').setInputFiles(blockFile);
  await page.locator('.triad').waitFor();
  await atRest(page);
  return blockPicture(page, firstLook(drawnSurface(block.scan)));
}

/** The picture of all of the block as the page shows it from somewhere. */
export async function blockPicture(page: Page, toEye: Vec3, up: Vec3 = [0, 0, 1]): Promise<BlockPicture> {
  const { x: left, y: top, width, height } = (await page.locator('.scene > canvas').boundingBox())!;
  const { positions, origin } = drawnSurface(block.scan);
  const before: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width, height };
  const rig = fitted(lookingFrom(before, toEye, up), positions, origin);
  return {
    left,
    top,
    pixelOf(place) {
      const [x, y] = pixelOf(rig, block.axes.toScan(place));
      return [left + x, top + y];
    },
  };
}
