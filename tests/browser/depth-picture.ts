import { createScan, type Scan, type Vec3 } from '@fettle/geom';
import { bytesOf, writePly } from '@fettle/io';
import type { Page } from 'playwright-core';
import { type Visible, visibleParts } from '../../packages/io/src/picture/visible.js';
import { firstLook } from '../../packages/viewer/src/scene/first-look.js';
import { backOf, fitted, lookingFrom, pixelOf, type Rig } from '../../packages/viewer/src/scene/rig.js';
import { drawnSurface } from '../../packages/viewer/src/worker/drawn-surface.js';
import { colorDistance, type Pixels, pixelsOf, type Rgb } from './pixels.js';

/** A scan colored by how deep its points lie in the page's first look at it, and what of it is seen there by the renderer of reports. */
export interface DepthScan {
  readonly file: { readonly name: string; readonly mimeType: string; readonly buffer: Buffer };
  readonly points: number;
  /** In a picture of this size. */
  expected(size: { readonly width: number; readonly height: number }): Visible;
  /** 0 to 1: how near to the eye, of a depth as {@link Visible} has it. */
  share(depth: number): number;
}

const UP: Vec3 = [0, 0, 1];

export function depthScan(scan: Scan): DepthScan {
  const surface = drawnSurface(scan);
  const toEye = firstLook(surface);
  const start: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width: 1, height: 1 };
  const back = backOf(lookingFrom(start, toEye, UP));
  const { positions } = scan;
  const depthOf = (p: Vec3): number => p[0] * back[0] + p[1] * back[1] + p[2] * back[2];
  const depths = Float64Array.from({ length: positions.length / 3 }, (_, i) =>
    depthOf([positions[3 * i]!, positions[3 * i + 1]!, positions[3 * i + 2]!]),
  );
  const low = depths.reduce((a, b) => Math.min(a, b));
  const high = depths.reduce((a, b) => Math.max(a, b));
  const share = (depth: number): number => (depth - low) / (high - low);
  const colors = new Uint8Array(positions.length);
  for (const [i, depth] of depths.entries()) colors.set(colorOf(share(depth)), 3 * i);
  const { triangles, normals } = scan;
  const colored = createScan({
    positions,
    colors,
    name: scan.name,
    ...(triangles && { triangles }),
    ...(normals && { normals }),
  });
  return {
    file: { name: scan.name, mimeType: 'application/octet-stream', buffer: Buffer.from(bytesOf(writePly(colored))) },
    points: depths.length,
    share,
    expected({ width, height }) {
      const rig = fitted(lookingFrom({ ...start, width, height }, toEye, UP), surface.positions, surface.origin);
      const { right, up, scale } = rig;
      const toPicture = (p: Vec3) => pixelOf(rig, p);
      return visibleParts(scan, { size: { width, height }, scale: 1 / scale, right, up, back, toPicture, depthOf }, 1);
    },
  };
}

/** Red and green tell the depth by their ratio, which light leaves alone, and are never so bright that light is cut off. */
const colorOf = (share: number): Rgb => [25 + 180 * share, 205 - 180 * share, 115].map(Math.round) as unknown as Rgb;

/** The depth a shaded color tells, 0 to 1; the page shows linear colors by a power of 2.2. */
function shareTold([r, g]: Rgb): number {
  const [red, green] = [r ** 2.2, g ** 2.2];
  return ((230 * red) / (red + green) - 25) / 180;
}

/** How a picture of the page and the expected one agree: of all places where either shows something. */
export interface Agreement {
  /** Both show something, or the expected one's edge is within a pixel: half of one decides there. */
  readonly silhouette: number;
  /** Of the places where both do: the same surface in front, as far as a pixel's neighbors tell. */
  readonly depth: number;
  readonly places: number;
}

/** Of the whole depth: more tells another surface in front. */
const SAME = 0.03;

/** Takes the picture of the scene, without what lies over it, beside what is to be seen of a scan. */
export async function agreement(page: Page, scan: DepthScan): Promise<Agreement> {
  await showCanvasAlone(page, true);
  const pixels = await pixelsOf(page.locator('.scene > canvas'));
  await showCanvasAlone(page, false);
  return compared(pixels, scan.expected(pixels), scan);
}

const showCanvasAlone = (page: Page, isAlone: boolean): Promise<void> =>
  page.evaluate((alone) => {
    document.documentElement.style.visibility = alone ? 'hidden' : '';
    document.querySelector<HTMLElement>('.scene > canvas')!.style.visibility = alone ? 'visible' : '';
  }, isAlone);

function compared(pixels: Pixels, seen: Visible, { share }: DepthScan): Agreement {
  const paper = pixels.at(1, 1);
  let [either, agreed, both, near] = [0, 0, 0, 0];
  for (let y = 1; y < seen.height - 1; y++)
    for (let x = 1; x < seen.width - 1; x++) {
      const color = pixels.at(x, y);
      const isShown = colorDistance(color, paper) > 30;
      const { isThere, isEdge, low, high } = about(seen, x, y);
      if (!isShown && !isThere) continue;
      either++;
      if (isShown === isThere || isEdge) agreed++;
      if (!isShown || !isThere) continue;
      both++;
      const told = shareTold(color);
      if (told > share(low) - SAME && told < share(high) + SAME) near++;
    }
  return { silhouette: agreed / either, depth: near / both, places: either };
}

/** What is expected at a pixel and the eight about it: whether something is, there and not everywhere, and between which depths. */
function about({ width, owner, depth }: Visible, x: number, y: number) {
  let [count, low, high] = [0, Infinity, -Infinity];
  for (let dy = -1; dy <= 1; dy++)
    for (let dx = -1; dx <= 1; dx++) {
      const at = (y + dy) * width + x + dx;
      if (owner[at] === 0) continue;
      count++;
      low = Math.min(low, depth[at]!);
      high = Math.max(high, depth[at]!);
    }
  return { isThere: owner[y * width + x] !== 0, isEdge: count > 0 && count < 9, low, high };
}
