import { Column } from './column.js';

/** Polygons of four corners or more: [first triangle, corners] each. */
export class PolygonList {
  readonly #pairs = new Column(Uint32Array);

  get length(): number {
    return this.#pairs.length / 2;
  }

  /** `pairs` of [first triangle, corners], the first triangle counted from `base`. */
  append(pairs: Uint32Array, base: number): void {
    if (pairs.length === 0) return;
    const { into, at } = this.#pairs.room(pairs.length);
    for (let i = 0; i < pairs.length; i += 2) {
      into[at + i] = pairs[i] + base;
      into[at + i + 1] = pairs[i + 1];
    }
  }

  /** Calls for each polygon in order. */
  forEach(call: (triangle: number, corners: number) => void): void {
    this.#pairs.forEachBlock((pairs) => {
      for (let i = 0; i < pairs.length; i += 2) call(pairs[i], pairs[i + 1]);
    });
  }

  /** The number of the face that triangle `t` belongs to, both from 0, where every other triangle is a face of its own. */
  faceOf(t: number): number {
    let extra = 0;
    this.forEach((triangle, corners) => {
      if (triangle + corners - 2 <= t) extra += corners - 3;
      else if (triangle < t) extra += t - triangle;
    });
    return t - extra;
  }
}

/** Corner comparisons spent on ear clipping in one file; polygons beyond stay fans. Some seconds, met by no honest file. */
const BUDGET = 200_000_000;

/**
 * Polygons come as fans from their first corner, which is right where they are convex. The others are cut again: a quad with a
 * corner pointing inward along its other diagonal, larger ones by clipping ears (Meisters, Amer. Math. Monthly 82 (1975) 648)
 * in the plane of their area vector. Rewrites `triangles` in place; gives how many polygons were left as fans because
 * they cross themselves, are flat in no plane, or are too large.
 */
export function cutConcave(positions: Float64Array, triangles: Uint32Array, polygons: PolygonList): number {
  let left = 0;
  let budget = BUDGET;
  polygons.forEach((triangle, corners) => {
    const at = 3 * triangle;
    if (isFanGood(positions, triangles, at, corners)) return;
    const names = new Uint32Array(corners);
    names[0] = triangles[at];
    for (let i = 1; i < corners; i++) {
      names[i] = i === 1 ? triangles[at + 1] : triangles[at + 3 * (i - 2) + 2];
    }
    budget -= corners * corners;
    if (budget < 0 || !clipEars(positions, names, triangles, at)) left++;
  });
  return left;
}

const normal = new Float64Array(3);

/** Writes into `out` the normal of the triangle whose corners stand from `t` on, twice its area long. */
function writeNormal(p: Float64Array, triangles: Uint32Array, t: number, out: Float64Array): void {
  const a = 3 * triangles[t];
  const b = 3 * triangles[t + 1];
  const c = 3 * triangles[t + 2];
  const ux = p[b] - p[a];
  const uy = p[b + 1] - p[a + 1];
  const uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a];
  const vy = p[c + 1] - p[a + 1];
  const vz = p[c + 2] - p[a + 2];
  out[0] = uy * vz - uz * vy;
  out[1] = uz * vx - ux * vz;
  out[2] = ux * vy - uy * vx;
}

/** Whether every triangle of the fan faces the way the whole polygon does. */
function isFanGood(p: Float64Array, triangles: Uint32Array, at: number, corners: number): boolean {
  const [ax, ay, az] = fanArea(p, triangles, at, corners);
  for (let t = at; t < at + 3 * (corners - 2); t += 3) {
    writeNormal(p, triangles, t, normal);
    if (normal[0] * ax + normal[1] * ay + normal[2] * az < 0) return false;
  }
  return true;
}

/** Twice the polygon's area vector: the sum over its fan. */
function fanArea(p: Float64Array, triangles: Uint32Array, at: number, corners: number): [number, number, number] {
  let ax = 0;
  let ay = 0;
  let az = 0;
  for (let t = at; t < at + 3 * (corners - 2); t += 3) {
    writeNormal(p, triangles, t, normal);
    ax += normal[0];
    ay += normal[1];
    az += normal[2];
  }
  return [ax, ay, az];
}

/** Writes the polygon's triangles over its fan; false, and nothing written, if no ear is found. */
function clipEars(p: Float64Array, names: Uint32Array, triangles: Uint32Array, at: number): boolean {
  const n = names.length;
  const [ax, ay, az] = fanArea(p, triangles, at, n);
  // Drop the axis along which the area is largest; swap the other two if that turns the polygon over.
  const drop =
    Math.abs(ax) > Math.abs(ay) ? (Math.abs(ax) > Math.abs(az) ? 0 : 2) : Math.abs(ay) > Math.abs(az) ? 1 : 2;
  const turned = [ax, ay, az][drop] < 0;
  const first = turned ? (drop + 2) % 3 : (drop + 1) % 3;
  const second = turned ? (drop + 1) % 3 : (drop + 2) % 3;
  const x = Float64Array.from(names, (v) => p[3 * v + first]);
  const y = Float64Array.from(names, (v) => p[3 * v + second]);
  const turn = (a: number, b: number, c: number) => (x[b] - x[a]) * (y[c] - y[a]) - (y[b] - y[a]) * (x[c] - x[a]);
  const ring = Array.from(names, (_, i) => i);
  const cut: number[] = [];
  let stuck = 0;
  let i = 0;
  while (ring.length > 3) {
    const k = ring.length;
    const [a, b, c] = [ring[(i + k - 1) % k], ring[i % k], ring[(i + 1) % k]];
    const isEar =
      turn(a, b, c) > 0 &&
      ring.every((d) => d === a || d === b || d === c || turn(a, b, d) < 0 || turn(b, c, d) < 0 || turn(c, a, d) < 0);
    if (isEar) {
      cut.push(a, b, c);
      ring.splice(i % k, 1);
      stuck = 0;
    } else {
      i++;
      if (++stuck > k) return false;
    }
    i %= ring.length;
  }
  if (turn(ring[0], ring[1], ring[2]) < 0) return false;
  cut.push(ring[0], ring[1], ring[2]);
  cut.forEach((c, j) => {
    triangles[at + j] = names[c];
  });
  return true;
}
