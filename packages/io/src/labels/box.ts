import type { Vec2 } from '@fettle/geom';

/** An upright rectangle on paper or on a picture. */
export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** The box of a size about a middle. */
export const boxAbout = ([x, y]: Vec2, width: number, height: number): Box => ({
  left: x - width / 2,
  top: y - height / 2,
  right: x + width / 2,
  bottom: y + height / 2,
});

/** The box grown by a margin on every side. */
export const grown = ({ left, top, right, bottom }: Box, by: number): Box => ({
  left: left - by,
  top: top - by,
  right: right + by,
  bottom: bottom + by,
});

/** Whether two boxes share more than an edge. */
export const boxesOverlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Whether a box lies inside another. */
export const boxInside = (a: Box, outer: Box): boolean =>
  a.left >= outer.left && a.right <= outer.right && a.top >= outer.top && a.bottom <= outer.bottom;

/** A straight piece from (x0, y0) to (x1, y1). */
export type Segment = readonly [x0: number, y0: number, x1: number, y1: number];

/** Length of the part of a segment inside a box (Liang and Barsky's clipping). */
export function lengthInside([x0, y0, x1, y1]: Segment, { left, top, right, bottom }: Box): number {
  const dx = x1 - x0;
  const dy = y1 - y0;
  let from = 0;
  let to = 1;
  for (const [along, low, high] of [
    [dx, left - x0, right - x0],
    [dy, top - y0, bottom - y0],
  ] as const) {
    if (along === 0) {
      if (low > 0 || high < 0) return 0;
      continue;
    }
    const a = low / along;
    const b = high / along;
    from = Math.max(from, Math.min(a, b));
    to = Math.min(to, Math.max(a, b));
  }
  return to > from ? (to - from) * Math.hypot(dx, dy) : 0;
}

/** Whether two segments cross in their insides. */
export function segmentsCross([ax, ay, bx, by]: Segment, [cx, cy, dx, dy]: Segment): boolean {
  const side = (px: number, py: number, qx: number, qy: number, rx: number, ry: number): number =>
    (qx - px) * (ry - py) - (qy - py) * (rx - px);
  return (
    side(ax, ay, bx, by, cx, cy) * side(ax, ay, bx, by, dx, dy) < 0 &&
    side(cx, cy, dx, dy, ax, ay) * side(cx, cy, dx, dy, bx, by) < 0
  );
}
