import type { Vec2 } from '@fettle/geom';
import { type Box, boxAbout } from '../labels/box.js';
import type { Drawing, Extent } from './drawing.js';
import { num, textElement } from './svg-text.js';

/** Arrows from the origin of the datum frame, and how far beside their tips the letters stand, mm on paper. */
const AXIS = 12;
const BESIDE = 2.8;
/** Side of the box a letter takes up. */
const LETTER = 3.6;

type Origin = NonNullable<Drawing['origin']>;

/** The origin is drawn unless it lies farther from the part than half the part's diagonal: paper is for the part. */
export function isNear([x, y]: Vec2, { min, max }: Extent): boolean {
  const off = Math.hypot(Math.max(min[0] - x, 0, x - max[0]), Math.max(min[1] - y, 0, y - max[1]));
  return off <= Math.hypot(max[0] - min[0], max[1] - min[1]) / 2;
}

/** The extent with room for the origin and its arrows, mm of the part. */
export function withOrigin({ min, max }: Extent, { at, axes }: Origin, scale: number): Extent {
  const reach = AXIS / scale;
  const around = (BESIDE + LETTER / 2) / scale;
  const places = [at, ...axes.map(({ along }): Vec2 => [at[0] + reach * along[0], at[1] + reach * along[1]])];
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return {
    min: [Math.min(min[0], ...xs.map((x) => x - around)), Math.min(min[1], ...ys.map((y) => y - around))],
    max: [Math.max(max[0], ...xs.map((x) => x + around)), Math.max(max[1], ...ys.map((y) => y + around))],
  };
}

/** A circle at the origin and an arrow an axis, its letter beside the tip: axes lie on lines of the part more often than not. */
export function originElements(
  { at, axes }: Origin,
  toPaper: (p: Vec2) => Vec2,
): { readonly elements: string[]; readonly boxes: Box[] } {
  const [x, y] = toPaper(at);
  const arrows = axes.map(({ name, along }, i) => {
    const size = Math.hypot(...along);
    const [ux, uy] = [along[0] / size, -along[1] / size];
    const others = axes.filter((_, k) => k !== i);
    // On the side away from the other axis, else on the left of the arrow.
    const isLeft = others.every((other) => along[0] * other.along[1] - along[1] * other.along[0] <= 0);
    const way = isLeft ? 1 : -1;
    const letter: Vec2 = [x + (AXIS - 1) * ux + way * BESIDE * uy, y + (AXIS - 1) * uy - way * BESIDE * ux];
    return { name, ux, uy, tip: [x + AXIS * ux, y + AXIS * uy] as Vec2, letter };
  });
  return {
    boxes: [boxAbout([x, y], 3, 3), ...arrows.map(({ letter }) => boxAbout(letter, LETTER, LETTER))],
    elements: [
      `<circle class="datum-line" fill="none" stroke="#b23428" stroke-width="0.35" cx="${num(x)}" cy="${num(y)}" r="1.2"/>`,
      ...arrows.flatMap(({ name, ux, uy, tip, letter }) => [
        `<path class="datum-line" fill="none" stroke="#b23428" stroke-width="0.35" d="M${num(x)} ${num(y)}L${num(tip[0])} ${num(tip[1])}M${num(tip[0] - 2.2 * ux + 0.8 * uy)} ${num(tip[1] - 2.2 * uy - 0.8 * ux)}L${num(tip[0])} ${num(tip[1])}L${num(tip[0] - 2.2 * ux - 0.8 * uy)} ${num(tip[1] - 2.2 * uy + 0.8 * ux)}"/>`,
        textElement(name, [letter[0], letter[1] + 1], { size: 2.5, align: 'middle' }),
      ]),
    ],
  };
}
