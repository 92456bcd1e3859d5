/** The bounds of points as they come, while their coordinates are still at hand. */
export class RunningBounds {
  /** Least x, y, z, greatest x, y, z. */
  readonly values = Float64Array.of(Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity);
  /** Whether a coordinate was no number or infinite: the bounds then say nothing. */
  hasNoNumber = false;

  /** Widens the bounds by the coordinates xyz xyz … in [from, to). */
  widen(positions: Float64Array, from: number, to: number): void {
    // Piece by piece: a function called often is compiled better than a loop entered once.
    for (let at = from; at < to; at += STRETCH) {
      if (!widen(this.values, positions, at, Math.min(at + STRETCH, to))) this.hasNoNumber = true;
    }
  }
}

const STRETCH = 3 << 14;

/** Widens the bounds by the coordinates in [from, to); false if one of them is no number. */
function widen(bounds: Float64Array, positions: Float64Array, from: number, to: number): boolean {
  let x0 = bounds[0];
  let y0 = bounds[1];
  let z0 = bounds[2];
  let x1 = bounds[3];
  let y1 = bounds[4];
  let z1 = bounds[5];
  // 0 · x is 0 for a number, NaN for the others.
  let doubt = 0;
  for (let i = from; i < to; i += 3) {
    const x = positions[i];
    const y = positions[i + 1];
    const z = positions[i + 2];
    doubt += 0 * x + 0 * y + 0 * z;
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
    if (z < z0) z0 = z;
    if (z > z1) z1 = z;
  }
  bounds.set([x0, y0, z0, x1, y1, z1]);
  return doubt === 0;
}
