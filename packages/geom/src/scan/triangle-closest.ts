/**
 * Writes into `out` the place of a triangle nearest to a place, and returns the squared distance
 * (Ericson, Real-Time Collision Detection, 2005, 5.1.5). A triangle without area is treated as its edges.
 */
export function closestOnTriangle(
  positions: Float64Array,
  a: number,
  b: number,
  c: number,
  x: number,
  y: number,
  z: number,
  out: Float64Array,
): number {
  const ax = positions[3 * a];
  const ay = positions[3 * a + 1];
  const az = positions[3 * a + 2];
  const ux = positions[3 * b] - ax;
  const uy = positions[3 * b + 1] - ay;
  const uz = positions[3 * b + 2] - az;
  const vx = positions[3 * c] - ax;
  const vy = positions[3 * c + 1] - ay;
  const vz = positions[3 * c + 2] - az;
  const px = x - ax;
  const py = y - ay;
  const pz = z - az;
  const d1 = ux * px + uy * py + uz * pz;
  const d2 = vx * px + vy * py + vz * pz;
  const uu = ux * ux + uy * uy + uz * uz;
  const uv = ux * vx + uy * vy + uz * vz;
  const vv = vx * vx + vy * vy + vz * vz;
  // Dot products of the edges at a with the way from b and from c.
  const d3 = d1 - uu;
  const d4 = d2 - uv;
  const d5 = d1 - uv;
  const d6 = d2 - vv;
  const va = d3 * d6 - d5 * d4;
  const vb = d5 * d2 - d1 * d6;
  const vc = d1 * d4 - d3 * d2;
  // The place is a + s·u + t·v.
  let s = 0;
  let t = 0;
  if (d1 <= 0 && d2 <= 0) {
    // a
  } else if (d3 >= 0 && d4 <= d3) {
    s = 1;
  } else if (vc <= 0 && d1 >= 0 && d3 <= 0) {
    s = d1 / (d1 - d3);
  } else if (d6 >= 0 && d5 <= d6) {
    t = 1;
  } else if (vb <= 0 && d2 >= 0 && d6 <= 0) {
    t = d2 / (d2 - d6);
  } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
    t = (d4 - d3) / (d4 - d3 + (d5 - d6));
    s = 1 - t;
  } else {
    const sum = va + vb + vc;
    s = vb / sum;
    t = vc / sum;
  }
  out[0] = ax + s * ux + t * vx;
  out[1] = ay + s * uy + t * vy;
  out[2] = az + s * uz + t * vz;
  return (out[0] - x) ** 2 + (out[1] - y) ** 2 + (out[2] - z) ** 2;
}
