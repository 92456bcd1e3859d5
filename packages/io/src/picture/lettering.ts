import type { Vec2 } from '@fettle/geom';
import type { Canvas } from './canvas.js';
import type { Rgb } from './tint.js';

/** Figures and axis names as pen strokes on a field 4 wide and 6 high, y down: x y x y … for each stroke. */
const STROKES: Readonly<Record<string, readonly (readonly number[])[]>> = {
  '0': [[1, 0, 3, 0, 4, 1.2, 4, 4.8, 3, 6, 1, 6, 0, 4.8, 0, 1.2, 1, 0]],
  '1': [[0.8, 1.2, 2.2, 0, 2.2, 6]],
  '2': [[0, 1.4, 1, 0, 3, 0, 4, 1.3, 3.7, 2.4, 0, 6, 4, 6]],
  '3': [
    [0, 0.9, 1, 0, 3, 0, 4, 1.2, 3.9, 2, 3, 2.8, 1.7, 2.8],
    [3, 2.8, 4, 3.8, 4, 4.8, 3, 6, 1, 6, 0, 5.1],
  ],
  '4': [[3, 6, 3, 0, 0, 4.2, 4, 4.2]],
  '5': [[3.7, 0, 0.6, 0, 0.2, 2.9, 1.2, 2.3, 3, 2.3, 4, 3.4, 4, 4.8, 3, 6, 1, 6, 0, 5.2]],
  '6': [[3.6, 0.6, 2.6, 0, 1.4, 0, 0.3, 1.6, 0, 3.6, 0.2, 5, 1.2, 6, 3, 6, 4, 4.9, 4, 3.7, 3, 2.6, 1.2, 2.6, 0.1, 3.7]],
  '7': [[0, 0, 4, 0, 1.6, 6]],
  '8': [
    [1, 2.8, 0.2, 1.8, 0.2, 1, 1, 0, 3, 0, 3.8, 1, 3.8, 1.8, 3, 2.8, 1, 2.8],
    [1, 2.8, 0, 3.9, 0, 5, 1, 6, 3, 6, 4, 5, 4, 3.9, 3, 2.8],
  ],
  '9': [[3.9, 2.3, 2.8, 3.4, 1, 3.4, 0, 2.3, 0, 1.1, 1, 0, 2.8, 0, 3.8, 1, 4, 2.4, 3.7, 4.4, 2.6, 6, 1.4, 6, 0.4, 5.4]],
  x: [
    [0, 2, 4, 6],
    [4, 2, 0, 6],
  ],
  y: [
    [0, 2, 2, 6],
    [4, 2, 1.3, 7.6],
  ],
  z: [[0, 2, 4, 2, 0, 6, 4, 6]],
};

/** From one character to the next, in the field's units. */
const ADVANCE = 5.4;

/** Writes figures or x, y, z about a middle; `size` is the height of a figure, `pen` the width of its strokes, pixels. */
export function write(canvas: Canvas, text: string, [cx, cy]: Vec2, size: number, pen: number, color: Rgb): void {
  const unit = size / 6;
  let left = cx - ((text.length * ADVANCE - (ADVANCE - 4)) * unit) / 2;
  for (const character of text) {
    for (const points of STROKES[character] ?? [])
      for (let i = 0; i + 3 < points.length; i += 2)
        canvas.stroke(
          [left + points[i]! * unit, cy - size / 2 + points[i + 1]! * unit],
          [left + points[i + 2]! * unit, cy - size / 2 + points[i + 3]! * unit],
          pen,
          color,
        );
    left += ADVANCE * unit;
  }
}
