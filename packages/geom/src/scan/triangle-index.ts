import { addScaled, normalize, subtract, type Vec3 } from '../math/vec3.js';
import { alongToBox, type BoxTree, boxesClear, squaredDistanceToBox, treeDepth, treeOfTriangles } from './box-tree.js';
import type { Bounds, Mesh, Scan } from './scan.js';
import type { Found, SpatialIndex } from './spatial-index.js';
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

const stack = new Uint32Array(2 * treeDepth);
const stackDistance = new Float64Array(2 * treeDepth);
const place = new Float64Array(3);
const best = new Float64Array(4);

export class TriangleIndex implements SpatialIndex {
  readonly elements = 'triangles';
  readonly positions: Float64Array;
  readonly #triangles: Uint32Array;
  readonly #tree: BoxTree;

  constructor(mesh: Mesh) {
    this.positions = mesh.positions;
    this.#triangles = mesh.triangles;
    this.#tree = treeOfTriangles(mesh);
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

  /** The nearest triangle no farther than `within`, -1 without one; leaves its nearest place and squared distance in `best`. */
  #search(x: number, y: number, z: number, within: number): number {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const lx = x - center[0];
    const ly = y - center[1];
    const lz = z - center[2];
    let least = within * within;
    let element = -1;
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
        const square = this.#closest(order[i], x, y, z);
        if (square > least || (element >= 0 && square === least)) continue;
        least = square;
        reach = (Math.sqrt(least) + slack) ** 2;
        element = order[i];
        best[0] = place[0];
        best[1] = place[1];
        best[2] = place[2];
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
