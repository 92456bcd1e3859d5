/**
 * A stretch of the perpendicular bisector of two points: where both are nearer (or farther) than all other points.
 * Its points are (x, y) + t·(dx, dy) with t in [from, to], (dx, dy) of unit length.
 */
export interface BisectorEdge {
  readonly first: number;
  readonly second: number;
  readonly x: number;
  readonly y: number;
  readonly dx: number;
  readonly dy: number;
  readonly from: number;
  readonly to: number;
}

/**
 * The edges of the nearest- or farthest-point Voronoi diagram of a few points: every bisector cut by all others, O(n³)
 * with an early end for most. For the few dozen points of an exchange that is quicker than a diagram built by sweeping,
 * and has no special cases.
 *
 * @param xy xy xy …, mm; no two points equal
 */
export function voronoiEdges(xy: Float64Array, which: 'nearest' | 'farthest'): BisectorEdge[] {
  const n = xy.length / 2;
  const sign = which === 'nearest' ? 1 : -1;
  const edges: BisectorEdge[] = [];
  for (let i = 0; i < n; i++)
    for (let j = i + 1; j < n; j++) {
      const px = xy[2 * i];
      const py = xy[2 * i + 1];
      const ex = xy[2 * j] - px;
      const ey = xy[2 * j + 1] - py;
      const l = Math.hypot(ex, ey);
      const dx = -ey / l;
      const dy = ex / l;
      let from = Number.NEGATIVE_INFINITY;
      let to = Number.POSITIVE_INFINITY;
      for (let k = 0; k < n && from <= to; k++) {
        if (k === i || k === j) continue;
        const kx = xy[2 * k] - px;
        const ky = xy[2 * k + 1] - py;
        // |x − k|² − |x − i|² along the bisector, from its middle: constant + t·slope, to be of one sign.
        const constant = sign * (kx * (kx - ex) + ky * (ky - ey));
        const slope = sign * -2 * (dx * kx + dy * ky);
        if (slope > 0) from = Math.max(from, -constant / slope);
        else if (slope < 0) to = Math.min(to, -constant / slope);
        else if (constant < 0) to = Number.NEGATIVE_INFINITY;
      }
      if (from <= to) edges.push({ first: i, second: j, x: px + ex / 2, y: py + ey / 2, dx, dy, from, to });
    }
  return edges;
}

/**
 * Where the lines of two edges cross, if they do within both stretches or within 1e-9 of their `extent` (mm) outside.
 */
export function crossing(
  a: BisectorEdge,
  b: BisectorEdge,
  extent: number,
): readonly [x: number, y: number] | undefined {
  const turn = a.dx * b.dy - a.dy * b.dx;
  if (Math.abs(turn) < 1e-14) return undefined;
  const x = b.x - a.x;
  const y = b.y - a.y;
  const s = (x * b.dy - y * b.dx) / turn;
  const t = (x * a.dy - y * a.dx) / turn;
  const within = (e: BisectorEdge, at: number) => {
    const slack = 1e-9 * (extent + Math.abs(at));
    return at >= e.from - slack && at <= e.to + slack;
  };
  return within(a, s) && within(b, t) ? [a.x + s * a.dx, a.y + s * a.dy] : undefined;
}
