import type { Frame, Vec2, Vec3 } from '@fettle/geom';
import type { Box, Segment } from '../labels/box.js';
import type { Camera } from './camera.js';
import type { Canvas } from './canvas.js';
import { write } from './lettering.js';
import { DATUM, PAPER } from './tint.js';

/** The arrows of a datum frame on a picture, pixels. */
export interface Triad {
  readonly origin: Vec2;
  readonly arrows: readonly { readonly name: 'x' | 'y' | 'z'; readonly tip: Vec2; readonly letter: Vec2 }[];
}

/** An axis seen along itself is no longer than this share of its length, and is a point on the picture. */
const END_ON = 0.12;

/** Arrows of `length` mm along the axes of a frame, from its origin; axes seen along themselves are left out. */
export function triadOf(frame: Frame, camera: Camera, length: number, size: number): Triad {
  const origin = camera.toPicture(frame.origin);
  const arrows = (['x', 'y', 'z'] as const).flatMap((name) => {
    const axis = frame[name];
    const end: Vec3 = [0, 1, 2].map((k) => frame.origin[k]! + length * axis[k]!) as unknown as Vec3;
    const tip = camera.toPicture(end);
    const [dx, dy] = [tip[0] - origin[0], tip[1] - origin[1]];
    const long = Math.hypot(dx, dy);
    if (long < END_ON * length * camera.scale) return [];
    return [{ name, tip, letter: [tip[0] + (dx / long) * size, tip[1] + (dy / long) * size] as const }];
  });
  return { origin, arrows };
}

/** What balloons should leave free: the letters and the origin. */
export const triadBoxes = ({ origin, arrows }: Triad, size: number): Box[] =>
  [origin, ...arrows.map(({ letter }) => letter)].map(([x, y]) => ({
    left: x - 0.6 * size,
    right: x + 0.6 * size,
    top: y - 0.7 * size,
    bottom: y + 0.7 * size,
  }));

/** The arrows, which balloons should keep off. */
export const triadLines = ({ origin, arrows }: Triad): Segment[] =>
  arrows.map(({ tip }) => [origin[0], origin[1], tip[0], tip[1]]);

export function drawTriad(canvas: Canvas, { origin, arrows }: Triad, size: number): void {
  const pen = Math.max(1.2, 0.15 * size);
  for (const { name, tip, letter } of arrows) {
    const long = Math.hypot(tip[0] - origin[0], tip[1] - origin[1]);
    const [ux, uy] = [(tip[0] - origin[0]) / long, (tip[1] - origin[1]) / long];
    canvas.stroke(origin, tip, pen, DATUM);
    for (const side of [-1, 1])
      canvas.stroke(
        tip,
        [tip[0] - 0.8 * size * ux + side * 0.35 * size * uy, tip[1] - 0.8 * size * uy - side * 0.35 * size * ux],
        pen,
        DATUM,
      );
    write(canvas, name, letter, 0.9 * size, pen, DATUM);
  }
  canvas.disc(origin, 0.36 * size, DATUM);
  canvas.disc(origin, 0.18 * size, PAPER);
}
