import { cross, dot, scale, subtract, type Vec3 } from '../../math/vec3.js';

/** One point of the difference body {p − q}: the pair it came from and its place. */
export interface Difference {
  readonly upper: number;
  readonly lower: number;
  readonly at: Vec3;
}

/** A triangle of the polytope: its outward normal and its distance from the origin. */
export interface Facet {
  readonly corners: readonly [Difference, Difference, Difference];
  readonly normal: Vec3;
  readonly distance: number;
}

interface Triangle extends Facet {
  readonly places: readonly [Vec3, Vec3, Vec3];
  /** In the polytope's own coordinates. */
  readonly inner: Vec3;
  readonly offset: number;
}

/** In the polytope's coordinates, where the first six corners lie at distance 1. */
const VISIBLE = 1e-13;

/**
 * A convex polytope that grows inside the difference body of a point set, symmetric about the origin: corners are added
 * with their opposites. It is kept in the affine coordinates in which the first three corners are the unit vectors, so
 * that a body a million times wider than thick is as well shaped as a cube; distances and normals are the true ones.
 */
export class DifferencePolytope {
  #triangles: Triangle[] = [];
  /** Rows take a point to the polytope's coordinates: the reciprocal basis of the first three corners. */
  readonly #rows: readonly [Vec3, Vec3, Vec3];

  /** Three differences that do not lie in a plane with the origin. */
  constructor(a: Difference, b: Difference, c: Difference) {
    const bc = cross(b.at, c.at);
    const ca = cross(c.at, a.at);
    const ab = cross(a.at, b.at);
    const volume = dot(a.at, bc);
    this.#rows = [scale(bc, 1 / volume), scale(ca, 1 / volume), scale(ab, 1 / volume)];
    for (const i of [a, opposite(a)])
      for (const j of [b, opposite(b)])
        for (const k of [c, opposite(c)]) {
          const triangle = this.#triangle(i, j, k);
          this.#triangles.push(triangle.offset > 0 ? triangle : this.#triangle(i, k, j));
        }
  }

  /** The facet nearest the origin. */
  nearest(): Facet {
    let best = this.#triangles[0];
    for (const t of this.#triangles) if (t.distance < best.distance) best = t;
    return best;
  }

  /** Take in a point beyond `facet`, and its opposite. */
  grow(point: Difference, facet: Facet): void {
    this.#add(point, facet as Triangle);
    const other = opposite(point);
    const y = this.#coordinates(other.at);
    let farthest: Triangle | undefined;
    let height = VISIBLE;
    for (const t of this.#triangles) {
      const h = dot(t.inner, y) - t.offset;
      if (h > height) {
        height = h;
        farthest = t;
      }
    }
    if (farthest) this.#add(other, farthest);
  }

  #add(point: Difference, seed: Triangle): void {
    const y = this.#coordinates(point.at);
    const seen = this.#triangles.filter((t) => t === seed || dot(t.inner, y) - t.offset > VISIBLE);
    // The rim of what the point sees: edges whose other side it does not see.
    const edges = new Map<string, readonly [Difference, Difference]>();
    for (const { corners } of seen)
      for (let i = 0; i < 3; i++) {
        const from = corners[i];
        const to = corners[(i + 1) % 3];
        if (!edges.delete(key(to, from))) edges.set(key(from, to), [from, to]);
      }
    const gone = new Set(seen);
    this.#triangles = this.#triangles.filter((t) => !gone.has(t));
    for (const [from, to] of edges.values()) this.#triangles.push(this.#triangle(from, to, point));
  }

  #coordinates(p: Vec3): Vec3 {
    return [dot(this.#rows[0], p), dot(this.#rows[1], p), dot(this.#rows[2], p)];
  }

  #triangle(a: Difference, b: Difference, c: Difference): Triangle {
    const places = [this.#coordinates(a.at), this.#coordinates(b.at), this.#coordinates(c.at)] as const;
    const area = cross(subtract(places[1], places[0]), subtract(places[2], places[0]));
    const inner = scale(area, 1 / Math.hypot(...area));
    const offset = dot(inner, places[0]);
    // A covector goes back to true coordinates by the transposed rows.
    const [r, s, t] = this.#rows;
    const normal: Vec3 = [
      inner[0] * r[0] + inner[1] * s[0] + inner[2] * t[0],
      inner[0] * r[1] + inner[1] * s[1] + inner[2] * t[1],
      inner[0] * r[2] + inner[1] * s[2] + inner[2] * t[2],
    ];
    const stretch = 1 / Math.hypot(...normal);
    return { corners: [a, b, c], places, inner, offset, normal: scale(normal, stretch), distance: offset * stretch };
  }
}

const opposite = (d: Difference): Difference => ({ upper: d.lower, lower: d.upper, at: scale(d.at, -1) });

const key = (a: Difference, b: Difference): string => `${a.upper},${a.lower},${b.upper},${b.lower}`;
