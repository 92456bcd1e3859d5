import type { Vec3 } from '../math/vec3.js';
import type { Scan } from '../scan/scan.js';
import { pointSpacing } from '../scan/spacing.js';

/** Cells along a side, at most. */
const MOST = 2048;
/** A point counts as seen if it lies no deeper than this many cells behind the nearest surface over it. */
const SLACK = 3;

/**
 * Whether points are seen along `w` inside a window on the axes `u`, `v`: a map of the nearest depth is drawn from the triangles (or the
 * points, each as wide as their spacing), and a point is seen if it does not lie behind it. In time with the scan, where rays would take some
 * microseconds a point; what lies within {@link SLACK} cells behind an edge counts as seen.
 */
export function seenAlong(
  scan: Scan,
  { u, v, w }: { readonly u: Vec3; readonly v: Vec3; readonly w: Vec3 },
  window: { readonly left: number; readonly right: number; readonly low: number; readonly high: number },
): (point: number) => boolean {
  const { positions, triangles } = scan;
  const spacing = pointSpacing(scan);
  const extent = Math.max(window.right - window.left, window.high - window.low, spacing, 1e-9);
  const cell = Math.max(spacing, extent / MOST);
  const columns = Math.ceil((window.right - window.left) / cell) + 1;
  const rows = Math.ceil((window.high - window.low) / cell) + 1;
  const depth = new Float32Array(columns * rows).fill(Infinity);
  const on = (p: number, axis: Vec3): number =>
    positions[3 * p]! * axis[0] + positions[3 * p + 1]! * axis[1] + positions[3 * p + 2]! * axis[2];
  const column = (x: number): number => (x - window.left) / cell;
  const row = (y: number): number => (y - window.low) / cell;
  const draw = (c: number, r: number, d: number): void => {
    if (c < 0 || r < 0 || c >= columns || r >= rows) return;
    const at = r * columns + c;
    if (d < depth[at]!) depth[at] = d;
  };

  if (triangles)
    for (let t = 0; t < triangles.length; t += 3) {
      const [a, b, c] = [triangles[t]!, triangles[t + 1]!, triangles[t + 2]!];
      const [xa, xb, xc] = [column(on(a, u)), column(on(b, u)), column(on(c, u))];
      if (Math.max(xa, xb, xc) < -1 || Math.min(xa, xb, xc) > columns) continue;
      const [ya, yb, yc] = [row(on(a, v)), row(on(b, v)), row(on(c, v))];
      if (Math.max(ya, yb, yc) < -1 || Math.min(ya, yb, yc) > rows) continue;
      const [da, db, dc] = [on(a, w), on(b, w), on(c, w)];
      const twice = (xb - xa) * (yc - ya) - (xc - xa) * (yb - ya);
      for (let r = Math.max(0, Math.ceil(Math.min(ya, yb, yc))); r <= Math.min(rows - 1, Math.max(ya, yb, yc)); r++)
        for (
          let k = Math.max(0, Math.ceil(Math.min(xa, xb, xc)));
          k <= Math.min(columns - 1, Math.max(xa, xb, xc));
          k++
        ) {
          const sb = ((k - xa) * (yc - ya) - (xc - xa) * (r - ya)) / twice;
          const sc = ((xb - xa) * (r - ya) - (k - xa) * (yb - ya)) / twice;
          if (sb >= 0 && sc >= 0 && sb + sc <= 1) draw(k, r, da + sb * (db - da) + sc * (dc - da));
        }
      // One smaller than a cell may pass between the middles of cells.
      draw(Math.round(xa), Math.round(ya), Math.max(da, db, dc));
    }
  else
    for (let p = 0; p < positions.length / 3; p++) {
      const d = on(p, w);
      const [c, r] = [Math.floor(column(on(p, u))), Math.floor(row(on(p, v)))];
      for (const i of [0, 1]) for (const j of [0, 1]) draw(c + i, r + j, d);
    }

  return (p) => {
    const [c, r] = [Math.round(column(on(p, u))), Math.round(row(on(p, v)))];
    return on(p, w) <= (depth[r * columns + c] ?? Infinity) + SLACK * cell;
  };
}
