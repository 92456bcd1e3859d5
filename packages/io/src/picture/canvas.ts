import type { Vec2 } from '@fettle/geom';
import type { PictureSize } from './camera.js';
import type { Pixels } from './png.js';
import { PAPER, type Rgb } from './tint.js';

/** A picture being drawn, in pixels from the upper left corner; each is `samples` × `samples` small ones until it is finished. */
export class Canvas {
  readonly size: PictureSize;
  readonly samples: number;
  /** Red, green, blue of the small pixels. */
  readonly pixels: Uint8ClampedArray;
  readonly #width: number;
  readonly #height: number;

  constructor(size: PictureSize, samples: number) {
    this.size = size;
    this.samples = samples;
    this.#width = size.width * samples;
    this.#height = size.height * samples;
    this.pixels = new Uint8ClampedArray(3 * this.#width * this.#height);
    for (let i = 0; i < this.pixels.length; i += 3) {
      this.pixels[i] = PAPER[0];
      this.pixels[i + 1] = PAPER[1];
      this.pixels[i + 2] = PAPER[2];
    }
  }

  /** A round-ended straight stroke. */
  stroke(from: Vec2, to: Vec2, width: number, color: Rgb): void {
    const k = this.samples;
    const radius = (width * k) / 2;
    const [x0, y0] = [from[0] * k, from[1] * k];
    const [dx, dy] = [to[0] * k - x0, to[1] * k - y0];
    const squared = dx * dx + dy * dy;
    this.#ink(
      [Math.min(x0, x0 + dx) - radius, Math.min(y0, y0 + dy) - radius],
      [Math.max(x0, x0 + dx) + radius, Math.max(y0, y0 + dy) + radius],
      color,
      (x, y) => {
        const along = squared > 0 ? Math.max(0, Math.min(1, ((x - x0) * dx + (y - y0) * dy) / squared)) : 0;
        return radius - Math.hypot(x - x0 - along * dx, y - y0 - along * dy);
      },
    );
  }

  disc(center: Vec2, radius: number, color: Rgb): void {
    const k = this.samples;
    const [cx, cy, r] = [center[0] * k, center[1] * k, radius * k];
    this.#ink([cx - r, cy - r], [cx + r, cy + r], color, (x, y) => r - Math.hypot(x - cx, y - cy));
  }

  /** Covers small pixels by how far they are inside, which is negative outside. */
  #ink(low: Vec2, high: Vec2, color: Rgb, inside: (x: number, y: number) => number): void {
    const left = Math.max(0, Math.floor(low[0] - 1));
    const right = Math.min(this.#width - 1, Math.ceil(high[0] + 1));
    const top = Math.max(0, Math.floor(low[1] - 1));
    const bottom = Math.min(this.#height - 1, Math.ceil(high[1] + 1));
    const { pixels } = this;
    for (let y = top; y <= bottom; y++)
      for (let x = left; x <= right; x++) {
        const share = Math.min(1, inside(x + 0.5, y + 0.5) + 0.5);
        if (share <= 0) continue;
        const at = 3 * (y * this.#width + x);
        for (let c = 0; c < 3; c++) pixels[at + c] = pixels[at + c]! * (1 - share) + color[c]! * share;
      }
  }

  /** The picture, each pixel the mean of its small ones. */
  finish(): Pixels {
    const { width, height } = this.size;
    const k = this.samples;
    const { pixels } = this;
    const rgb = new Uint8Array(3 * width * height);
    const count = k * k;
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) {
        let r = 0;
        let g = 0;
        let b = 0;
        for (let j = 0; j < k; j++)
          for (let i = 0, at = 3 * ((y * k + j) * this.#width + x * k); i < k; i++, at += 3) {
            r += pixels[at]!;
            g += pixels[at + 1]!;
            b += pixels[at + 2]!;
          }
        const to = 3 * (y * width + x);
        rgb[to] = Math.round(r / count);
        rgb[to + 1] = Math.round(g / count);
        rgb[to + 2] = Math.round(b / count);
      }
    return { width, height, rgb };
  }
}
