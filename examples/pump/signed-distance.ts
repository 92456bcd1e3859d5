/** Signed distances, mm: negative inside, zero on the surface. A solid is built by joining them. */

/** Both solids, their inner edge filled by an arc of radius `r`. Exact farther than `r` from either. */
export function roundUnion(a: number, b: number, r: number): number {
  if (a >= r || b >= r) return Math.min(a, b);
  const u = r - a;
  const v = r - b;
  return Math.max(r, Math.min(a, b)) - Math.sqrt(u * u + v * v);
}

/** What two solids share, its outer edge rounded by an arc of radius `r`. */
export function roundIntersection(a: number, b: number, r: number): number {
  if (a <= -r || b <= -r) return Math.max(a, b);
  const u = r + a;
  const v = r + b;
  return Math.min(-r, Math.max(a, b)) + Math.sqrt(u * u + v * v);
}

/** A rectangle about the origin with half sides `a` and `b`, its corners rounded by `r`. */
export function roundedRectangle(x: number, y: number, a: number, b: number, r: number): number {
  const u = Math.abs(x) - a + r;
  const v = Math.abs(y) - b + r;
  const outside = u > 0 && v > 0 ? Math.sqrt(u * u + v * v) : Math.max(u, v);
  return outside - r;
}

/** A round bar of radius `r` from a to b. */
export function bar(
  x: number,
  y: number,
  z: number,
  a: readonly [number, number, number],
  b: readonly [number, number, number],
  r: number,
): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const dz = b[2] - a[2];
  const px = x - a[0];
  const py = y - a[1];
  const pz = z - a[2];
  const t = Math.min(1, Math.max(0, (px * dx + py * dy + pz * dz) / (dx * dx + dy * dy + dz * dz)));
  const ex = px - t * dx;
  const ey = py - t * dy;
  const ez = pz - t * dz;
  return Math.sqrt(ex * ex + ey * ey + ez * ez) - r;
}
