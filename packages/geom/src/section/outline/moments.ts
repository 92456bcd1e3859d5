/**
 * Sums over a stretch of flat points from which both of its shapes follow at once: the least-squares line, and the circle
 * of Pratt's fit (V. Pratt, "Direct least-squares fitting of algebraic surfaces", Computer Graphics 21 (1987) 145-152).
 * Pratt's normalization makes the algebraic distance equal the geometric one near the circle, holds lines as circles of no
 * curvature, and does not shrink short arcs as the plain algebraic fit does.
 *
 * Layout of the ten sums: Σw, Σwx, Σwy, Σwz, Σwxx, Σwxy, Σwxz, Σwyy, Σwyz, Σwzz with z = x² + y², about the stretch's own origin: the
 * upper triangle of the products of 1, x, y and z. Where points err together, the four sequences are freed of what neighbors tell
 * of each other first (see profile-wave.ts), and the sums are of what is left; Σwz is then no longer Σwxx + Σwyy.
 */
export const MOMENTS = 10;

/** Adds one weighted point, given about the stretch's own origin. */
export function addPoint(m: Float64Array, at: number, x: number, y: number, w: number): void {
  const z = x * x + y * y;
  m[at] += w;
  m[at + 1] += w * x;
  m[at + 2] += w * y;
  m[at + 3] += w * z;
  m[at + 4] += w * x * x;
  m[at + 5] += w * x * y;
  m[at + 6] += w * z * x;
  m[at + 7] += w * y * y;
  m[at + 8] += w * z * y;
  m[at + 9] += w * z * z;
}

/** Weighted sum of squared distances left by the best line. */
export function lineLoss(m: Float64Array, at: number): number {
  const n = m[at];
  const xx = m[at + 4] - (m[at + 1] * m[at + 1]) / n;
  const xy = m[at + 5] - (m[at + 1] * m[at + 2]) / n;
  const yy = m[at + 7] - (m[at + 2] * m[at + 2]) / n;
  const larger = (xx + yy + Math.hypot(xx - yy, 2 * xy)) / 2;
  return larger > 0 ? Math.max(0, (xx * yy - xy * xy) / larger) : 0;
}

/** Weighted sum of squared distances left by Pratt's circle: never more than the line's. */
export function arcLoss(m: Float64Array, at: number): number {
  return Math.min(lineLoss(m, at), circleLoss(m, at));
}

/** Weighted sum of squared distances left by Pratt's circle, of points that do not lie on a line. */
export function circleLoss(m: Float64Array, at: number): number {
  return m[at] * Math.max(0, smallestRoot(m, at));
}

/** Pratt's circle, about the stretch's own origin; undefined where the points lie on a line. */
export function pratt(m: Float64Array, at: number): { x: number; y: number; radius: number } | undefined {
  const root = smallestRoot(m, at);
  const [xx, xy, yy, xz, yz, mz] = central;
  const det = (xx - root) * (yy - root) - xy * xy;
  const u = (xz * (yy - root) - yz * xy) / (2 * det);
  const v = (yz * (xx - root) - xz * xy) / (2 * det);
  const radius = Math.sqrt(u * u + v * v + mz + 2 * root);
  if (!(Number.isFinite(radius) && radius > 0)) return undefined;
  return { x: u + m[at + 1] / m[at], y: v + m[at + 2] / m[at], radius };
}

/** Means about the centroid, of the last stretch looked at: xx, xy, yy, xz, yz, z. */
const central = new Float64Array(6);

/** Smallest root of the characteristic equation of Pratt's fit: the mean squared distance it leaves. */
function smallestRoot(m: Float64Array, at: number): number {
  const n = m[at];
  const a = m[at + 1] / n;
  const b = m[at + 2] / n;
  const c = a * a + b * b;
  const z = m[at + 3] / n;
  // Means about the centroid: u = x − a, v = y − b, s = u² + v² = z − 2ax − 2by + c.
  const xx = m[at + 4] / n - a * a;
  const xy = m[at + 5] / n - a * b;
  const yy = m[at + 7] / n - b * b;
  const zx = m[at + 6] / n;
  const zy = m[at + 8] / n;
  const zz = m[at + 9] / n;
  const mz = z - c;
  const xz = zx - a * z - 2 * (a * xx + b * xy);
  const yz = zy - b * z - 2 * (a * xy + b * yy);
  const x2 = m[at + 4] / n;
  const y2 = m[at + 7] / n;
  const x1y1 = m[at + 5] / n;
  const ss =
    zz +
    4 * (a * a * x2 + b * b * y2 + 2 * a * b * x1y1) +
    c * c -
    4 * (a * zx + b * zy) +
    2 * c * z -
    4 * c * (a * a + b * b);
  central[0] = xx;
  central[1] = xy;
  central[2] = yy;
  central[3] = xz;
  central[4] = yz;
  central[5] = mz;
  const det = xx * yy - xy * xy;
  const trace = xx + yy;
  const free = ss - mz * mz;
  const a3 = 4 * (mz - trace);
  const a2 = 4 * det - 4 * mz * trace - free;
  const a1 = free * trace + 4 * det * mz - xz * xz - yz * yz;
  const a0 = xz * xz * yy + yz * yz * xx - 2 * xz * yz * xy - free * det;
  // Newton from zero climbs to the smallest root without passing it (Chernov, "Circular and linear regression", 2010, §5.5).
  let root = 0;
  let value = a0;
  for (let i = 0; i < 20; i++) {
    const slope = a1 + root * (2 * a2 + root * (3 * a3 + 16 * root));
    const next = root - value / slope;
    if (!(next > root)) break;
    const nextValue = a0 + next * (a1 + next * (a2 + next * (a3 + 4 * next)));
    if (Math.abs(nextValue) >= Math.abs(value)) break;
    const settled = next - root < 1e-6 * next;
    root = next;
    value = nextValue;
    if (settled) break;
  }
  return root;
}
