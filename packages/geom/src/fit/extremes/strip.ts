/** The narrowest strip between two parallel lines that holds points of a plane. */
export interface Strip {
  /** Unit normal of the lines. */
  readonly normal: readonly [x: number, y: number];
  /** The lines' distances from the origin along the normal, mm. */
  readonly low: number;
  readonly high: number;
  /** No strip is narrower, mm. */
  readonly bound: number;
  /** Places of the points on the lines: two on one, one between them on the other. */
  readonly upper: readonly number[];
  readonly lower: readonly number[];
  readonly passes: number;
}

/** A point of the difference body {p − q}, and the pair it came from. */
interface Corner {
  readonly upper: number;
  readonly lower: number;
  readonly x: number;
  readonly y: number;
}

/**
 * Exact and global: a polygon inside the difference body {p − q} grows by the extreme points along the normal of its
 * own nearest edge, until that edge is an edge of the body. The same method as in space, see `plane.ts`.
 *
 * @param xy xy xy …, mm
 * @returns undefined when all points lie at one place
 */
export function narrowestStrip(xy: Float64Array): Strip | undefined {
  let passes = 0;
  const along = (nx: number, ny: number) => {
    passes++;
    return extremes(xy, nx, ny);
  };
  const first = [along(1, 0), along(0, 1)].sort((p, q) => span(q.corner) - span(p.corner))[0].corner;
  const extent = span(first);
  if (!(extent > 0)) return undefined;
  const rounding = 8 * Number.EPSILON * extent;
  const second = along(-first.y / extent, first.x / extent).corner;
  // Half of the polygon, counterclockwise from `first`; the other half is its opposite.
  const half: Corner[] = [first, second];
  if (first.x * second.y - first.y * second.x <= rounding * extent) {
    // On one line: its own normal serves, and the half polygon is that one edge.
    const normal = [-first.y / extent, first.x / extent] as const;
    const { low, high } = extremes(xy, ...normal);
    return { normal, low, high, bound: 0, upper: [first.upper, first.lower], lower: [first.upper], passes };
  }
  let best: Strip | undefined;
  for (;;) {
    let nearest = 0;
    let distance = Number.POSITIVE_INFINITY;
    let normal: readonly [number, number] = [0, 0];
    for (let i = 0; i < half.length; i++) {
      const a = half[i];
      const b = half[i + 1] ?? opposite(first);
      const l = Math.hypot(b.x - a.x, b.y - a.y);
      const d = (a.x * b.y - a.y * b.x) / l;
      if (d < distance) {
        distance = d;
        nearest = i;
        normal = [(b.y - a.y) / l, (a.x - b.x) / l];
      }
    }
    const { low, high, corner } = along(...normal);
    if (!best || high - low < best.high - best.low) {
      const ends = [half[nearest], half[nearest + 1] ?? opposite(first)];
      const upper = [...new Set(ends.map((c) => c.upper))];
      const lower = [...new Set(ends.map((c) => c.lower))];
      best = { normal, low, high, bound: distance, upper, lower, passes };
    }
    if (high - low - distance <= rounding + 1e-13 * (high - low) || passes > 1000)
      return { ...best, bound: distance, passes };
    half.splice(nearest + 1, 0, corner);
  }
}

const span = (c: Corner): number => Math.hypot(c.x, c.y);

const opposite = ({ upper, lower, x, y }: Corner): Corner => ({ upper: lower, lower: upper, x: -x, y: -y });

function extremes(xy: Float64Array, nx: number, ny: number): { low: number; high: number; corner: Corner } {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let lower = 0;
  let upper = 0;
  for (let k = 0; k < xy.length; k += 2) {
    const h = nx * xy[k] + ny * xy[k + 1];
    if (h < low) {
      low = h;
      lower = k;
    }
    if (h > high) {
      high = h;
      upper = k;
    }
  }
  const corner = { upper: upper / 2, lower: lower / 2, x: xy[upper] - xy[lower], y: xy[upper + 1] - xy[lower + 1] };
  return { low, high, corner };
}
