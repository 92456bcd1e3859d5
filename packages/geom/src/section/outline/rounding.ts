import type { Vec2 } from '../../math/vec2.js';
import type { Outline } from './places.js';
import { type FlatShape, flatDistance, nearestOn } from './shape.js';
import type { Stretch } from './split.js';

/**
 * The stretches less the arcs between two lines that are the scan's rounding of a sharp corner: few of their points lie off
 * both lines.
 *
 * @param shapes of the stretches
 * @param sharp so many points off both lines make an arc of its own
 */
export function withoutRoundings(
  stretches: readonly Stretch[],
  shapes: readonly FlatShape[],
  { flat, closed, wave }: Outline,
  sharp: number,
  sigma: number,
): Stretch[] {
  const count = stretches.length;
  const n = flat.length / 2;
  const neighbor = (k: number): FlatShape | undefined => (closed ? shapes[(k + count) % count] : shapes[k]);
  const isRounding = ({ from, to, byHand }: Stretch, k: number): boolean => {
    const lines = [neighbor(k - 1), neighbor(k + 1)];
    if (byHand !== undefined || shapes[k].kind !== 'arc' || !lines.every((l) => l?.kind === 'line')) return false;
    let off = 0;
    for (let p = from; p < to; p++) {
      const q = 2 * (p % n);
      const point: Vec2 = [flat[q], flat[q + 1]];
      // In waves points lie off both lines, or on one, by chance.
      const [x, y] = wave ? nearestOn(shapes[k], point) : point;
      if (lines.every((l) => Math.abs(flatDistance(l!, x, y)) > 3 * sigma)) off++;
    }
    return off < sharp;
  };
  return count < 3 ? [...stretches] : stretches.filter((s, k) => !isRounding(s, k));
}
