import { addScaled, normalize, subtract, type Vec3 } from '../math/vec3.js';
import { alongToBox, type BoxTree, boxesClear, squaredDistanceToBox, treeDepth, treeOfTriangles } from './box-tree.js';
import type { Found, SpatialIndex } from './place-questions.js';
import type { Bounds, Mesh, Scan } from './scan.js';
import { triangleTouchesBox } from './triangle-box.js';
import { closestOnTriangle } from './triangle-closest.js';
import { alongToTriangle, prepareRay } from './triangle-ray.js';

const known = new WeakMap<Uint32Array, TriangleIndex>();

/** The index over the triangles of a mesh. Built when first asked for, then kept with the triangles. */
export function triangleIndex(scan: Scan): TriangleIndex {
  const mesh = { ...scan, triangles: scan.triangles ?? new Uint32Array() };
  const before = known.get(mesh.triangles);
  if (before?.positions === scan.positions) return before;
  const index = new TriangleIndex(mesh);
  known.set(mesh.triangles, index);
  return index;
}

/** The index of a mesh's triangles from the tree that another thread has built. */
export function adoptTriangleTree(mesh: Mesh, built: TriangleTree): TriangleIndex {
  const index = new TriangleIndex(mesh, built);
  known.set(mesh.triangles, index);
  return index;
}

/** A tree over the triangles of a mesh, and their corners in the order of the tree. */
export interface TriangleTree {
  readonly tree: BoxTree;
  readonly inOrder: Uint32Array;
}

export function triangleTree(mesh: Mesh): TriangleTree {
  const tree = treeOfTriangles(mesh);
  const { order } = tree;
  const { triangles } = mesh;
  const inOrder = new Uint32Array(triangles.length);
  for (let i = 0; i < order.length; i++) {
    inOrder[3 * i] = triangles[3 * order[i]];
    inOrder[3 * i + 1] = triangles[3 * order[i] + 1];
    inOrder[3 * i + 2] = triangles[3 * order[i] + 2];
  }
  return { tree, inOrder };
}

const stack = new Uint32Array(2 * treeDepth);
const stackDistance = new Float64Array(2 * treeDepth);
const place = new Float64Array(3);
const best = new Float64Array(4);

export class TriangleIndex implements SpatialIndex {
  readonly elements = 'triangles';
  readonly positions: Float64Array;
  readonly #triangles: Uint32Array;
  readonly #tree: BoxTree;
  /** The corners of the triangles in the order of the tree: a leaf is one run of memory. */
  readonly #corners: Uint32Array;

  constructor(mesh: Mesh, { tree, inOrder } = triangleTree(mesh)) {
    this.positions = mesh.positions;
    this.#triangles = mesh.triangles;
    this.#tree = tree;
    this.#corners = inOrder;
  }

  nearest([x, y, z]: Vec3, within = Infinity): Found | undefined {
    const element = this.#search(x, y, z, within);
    if (element < 0) return undefined;
    return { position: [best[0], best[1], best[2]], distance: Math.sqrt(best[3]), element };
  }

  /** Squared distance from a place to the mesh, mm². */
  squaredDistance(x: number, y: number, z: number): number {
    this.#search(x, y, z, Infinity);
    return best[3];
  }

  /**
   * The nearest triangle no farther than `within`, -1 without one; leaves its nearest place and squared distance in `best`.
   *
   * Tried, for 10,000 places up to 30 mm off 4.5 M triangles 0.2 mm wide, where 700 triangles must be looked at for a place, ms:
   * each triangle's nearest place 940; none of triangles beyond the plane across the way to the nearest so far 850; and their
   * corners in the order of the tree, so that a leaf is one run of memory, 670; leaves of six triangles in place of ten the same;
   * boxes and links of a node in one run too, 610, not worth 32 MB. Three quarters of it is waiting for memory: asked about places
   * near each other, whose triangles are in the cache, it takes 140.
   */
  #search(x: number, y: number, z: number, within: number): number {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const { positions } = this;
    const corners = this.#corners;
    const lx = x - center[0];
    const ly = y - center[1];
    const lz = z - center[2];
    let least = within * within;
    let element = -1;
    // The way to the nearest place so far, as long as its distance: whatever is beyond the plane across its end is farther.
    let ux = 0;
    let uy = 0;
    let uz = 0;
    let beyond = Infinity;
    // Boxes are off by up to the slack: those as near as this may hold a nearer triangle.
    let reach = (within + slack) ** 2;
    let open = 1;
    stack[0] = 0;
    stackDistance[0] = 0;
    nodes: while (open > 0) {
      open--;
      if (stackDistance[open] > reach) continue;
      let node = stack[open];
      while (count[node] === 0) {
        const one = node + 1;
        const other = skip[one];
        const toOne = squaredDistanceToBox(boxes, one, lx, ly, lz);
        const toOther = squaredDistanceToBox(boxes, other, lx, ly, lz);
        if (toOne > reach && toOther > reach) continue nodes;
        stack[open] = toOne <= toOther ? other : one;
        stackDistance[open++] = Math.max(toOne, toOther);
        node = toOne <= toOther ? one : other;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const a = 3 * corners[3 * i];
        const b = 3 * corners[3 * i + 1];
        const c = 3 * corners[3 * i + 2];
        if (
          ux * (positions[a] - x) + uy * (positions[a + 1] - y) + uz * (positions[a + 2] - z) > beyond &&
          ux * (positions[b] - x) + uy * (positions[b + 1] - y) + uz * (positions[b + 2] - z) > beyond &&
          ux * (positions[c] - x) + uy * (positions[c + 1] - y) + uz * (positions[c + 2] - z) > beyond
        )
          continue;
        const square = closestOnTriangle(positions, a / 3, b / 3, c / 3, x, y, z, place);
        if (square > least || (element >= 0 && square === least)) continue;
        least = square;
        reach = (Math.sqrt(least) + slack) ** 2;
        element = order[i];
        best[0] = place[0];
        best[1] = place[1];
        best[2] = place[2];
        ux = place[0] - x;
        uy = place[1] - y;
        uz = place[2] - z;
        // Rounding must not leave out what is nearer by as little.
        beyond = least * (1 + 1e-12);
      }
    }
    best[3] = least;
    return element;
  }

  within([x, y, z]: Vec3, radius: number): Uint32Array {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const found: number[] = [];
    const lx = x - center[0];
    const ly = y - center[1];
    const lz = z - center[2];
    const reach = (radius + slack) ** 2;
    for (let node = 0; node < skip.length; ) {
      if (squaredDistanceToBox(boxes, node, lx, ly, lz) > reach) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++)
        if (this.#closest(order[i], x, y, z) <= radius * radius) found.push(order[i]);
      node++;
    }
    return Uint32Array.from(found).sort();
  }

  box(box: Bounds): Uint32Array {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const [x0, y0, z0] = subtract(box.min, center);
    const [x1, y1, z1] = subtract(box.max, center);
    const triangles = this.#triangles;
    const found: number[] = [];
    for (let node = 0; node < skip.length; ) {
      if (boxesClear(boxes, node, x0 - slack, y0 - slack, z0 - slack, x1 + slack, y1 + slack, z1 + slack)) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const t = 3 * order[i];
        if (triangleTouchesBox(this.positions, triangles[t], triangles[t + 1], triangles[t + 2], box))
          found.push(order[i]);
      }
      node++;
    }
    return Uint32Array.from(found).sort();
  }

  ray(from: Vec3, direction: Vec3): Found | undefined {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const triangles = this.#triangles;
    const local = subtract(from, center);
    const along = normalize(direction);
    const ray = prepareRay(from, along);
    let least = Infinity;
    let element = -1;
    for (let node = 0; node < skip.length; ) {
      if (alongToBox(boxes, node, local, along, slack) >= least) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const t = 3 * order[i];
        const distance = alongToTriangle(ray, this.positions, triangles[t], triangles[t + 1], triangles[t + 2]);
        if (distance >= least) continue;
        least = distance;
        element = order[i];
      }
      node++;
    }
    if (element < 0) return undefined;
    return { position: addScaled(from, along, least), distance: least, element };
  }

  /** Squared distance from triangle `t`; leaves the nearest place in `place`. */
  #closest(t: number, x: number, y: number, z: number): number {
    const triangles = this.#triangles;
    return closestOnTriangle(
      this.positions,
      triangles[3 * t],
      triangles[3 * t + 1],
      triangles[3 * t + 2],
      x,
      y,
      z,
      place,
    );
  }
}
