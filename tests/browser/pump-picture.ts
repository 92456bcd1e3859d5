import { bounds, type Vec3 } from '@fettle/geom';
import { scanPump } from '../../examples/pump/scan-pump.js';
import type { Truth } from '../../examples/pump/truth.js';
import { firstLook } from '../../packages/viewer/src/scene/first-look.js';
import { fitted, lookingFrom, orbited, pixelOf, type Rig } from '../../packages/viewer/src/scene/rig.js';
import { drawnSurface } from '../../packages/viewer/src/worker/drawn-surface.js';

/** Triangles of the demo the page brings. */
const TRIANGLES = 160_000;

/** Places on the pump, in the scanner's axes, as the plan in README names them. */
export const onPump = {
  leftFoot: [251, -141, 576],
  rightFoot: [395, -30, 493],
  front: [281, -89, 676],
  side: [262, -170, 630],
} as const satisfies Readonly<Record<string, Vec3>>;

/** The demo pump as a page shows it, so that a test knows where to point. */
export interface PumpPicture {
  readonly truth: Truth;
  /** The pixel of the scene that shows a place. */
  pixelOf(place: Vec3): readonly [x: number, y: number];
  /** After a drag over so many pixels that began on empty paper, or arrow keys. */
  turned(dx: number, dy: number): PumpPicture;
}

/** The picture of a scene of a size right after the pump was opened. */
export function pumpPicture(width: number, height: number): PumpPicture {
  const { scan, truth } = scanPump({ triangles: TRIANGLES });
  const surface = drawnSurface(scan);
  const { min, max } = bounds(scan);
  const middle = [0, 1, 2].map((k) => (min[k]! + max[k]!) / 2) as unknown as Vec3;
  const before: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width, height };
  const first = fitted(lookingFrom(before, firstLook(surface), [0, 0, 1]), surface.positions, surface.origin);
  const picture = (rig: Rig): PumpPicture => ({
    truth,
    pixelOf: (place) => pixelOf(rig, place),
    turned: (dx, dy) => picture(orbited(rig, middle, dx, dy)),
  });
  return picture(first);
}
