import { Column } from './column.js';
import { cutPolygon } from './cut-polygon.js';

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

/**
 * Corners of polygons that are looked at by the square of their number, and comparisons spent on them in one file; polygons
 * beyond stay fans. Some seconds, met by no honest file.
 */
const LARGE = 1000;
const BUDGET = 100_000_000;

/**
 * Polygons come as fans from their first corner, which is right where they are convex. The others are cut again. Rewrites `triangles`
 * in place; gives how many polygons were left as fans because they cross themselves, are flat in no plane, or are too large.
 */
export function cutConcave(positions: Float64Array, triangles: Uint32Array, polygons: PolygonList): number {
  let left = 0;
  let budget = BUDGET;
  polygons.forEach((triangle, corners) => {
    const at = 3 * triangle;
    if (isFanGood(positions, triangles, at, corners)) return;
    if (corners > LARGE) budget -= corners * corners;
    const names = new Uint32Array(corners);
    names[0] = triangles[at];
    for (let i = 1; i < corners; i++) {
      names[i] = i === 1 ? triangles[at + 1] : triangles[at + 3 * (i - 2) + 2];
    }
    const cut = budget < 0 ? undefined : cutPolygon(positions, names, fanArea(positions, triangles, at, corners));
    if (cut === undefined) left++;
    else for (let c = 0; c < cut.length; c++) triangles[at + c] = names[cut[c]];
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
