import { normalize, subtract, type Vec3 } from '../math/vec3.js';
import { alongToBox, type BoxTree, boxesClear, squaredDistanceToBox, treeDepth, treeOfPoints } from './box-tree.js';
import type { Found, SpatialIndex } from './place-questions.js';
import type { Bounds, Points } from './scan.js';

const known = new WeakMap<object, PointIndex>();

/** The index over the (selected) points of a scan, mesh or cloud. Built when first asked for, then kept with the points. */
export function pointIndex(points: Points): PointIndex {
  const key = points.select ?? points.positions;
  const before = known.get(key);
  if (before?.positions === points.positions) return before;
  const index = new PointIndex(points);
  known.set(key, index);
  return index;
}

/** The index of points from the tree that another thread has built. */
export function adoptPointTree(points: Points, built: PointTree): PointIndex {
  const index = new PointIndex(points, built);
  known.set(points.select ?? points.positions, index);
  return index;
}

/** A tree over points, and their positions in the order of the tree. */
export interface PointTree {
  readonly tree: BoxTree;
  readonly inOrder: Float64Array;
}

export function pointTree(points: Points): PointTree {
  const tree = treeOfPoints(points);
  const { order } = tree;
  const { positions } = points;
  const inOrder = new Float64Array(3 * order.length);
  for (let i = 0; i < order.length; i++) {
    const p = 3 * order[i];
    inOrder[3 * i] = positions[p];
    inOrder[3 * i + 1] = positions[p + 1];
    inOrder[3 * i + 2] = positions[p + 2];
  }
  return { tree, inOrder };
}

/** Node numbers, and their squared distances, still to be looked at. */
const stack = new Uint32Array(2 * treeDepth);
const stackDistance = new Float64Array(2 * treeDepth);

export class PointIndex implements SpatialIndex {
  readonly elements = 'points';
  readonly positions: Float64Array;
  readonly #tree: BoxTree;
  /** The positions in the order of the tree: a leaf is one run of memory. */
  readonly #sorted: Float64Array;

  constructor(points: Points, { tree, inOrder } = pointTree(points)) {
    this.positions = points.positions;
    this.#tree = tree;
    this.#sorted = inOrder;
  }

  nearest(place: Vec3, within = Infinity): Found | undefined {
    const squares = new Float64Array(1);
    const points = new Uint32Array(1);
    if (this.gatherNearest(place[0], place[1], place[2], points, squares, within) === 0) return undefined;
    const p = 3 * points[0];
    const { positions } = this;
    return {
      position: [positions[p], positions[p + 1], positions[p + 2]],
      distance: Math.sqrt(squares[0]),
      element: points[0],
    };
  }

  /** The `count` points nearest to a place, nearest first; fewer if there are not so many. */
  nearestPoints(place: Vec3, count: number): Uint32Array {
    const points = new Uint32Array(count);
    return points.subarray(0, this.gatherNearest(place[0], place[1], place[2], points, new Float64Array(count)));
  }

  /**
   * Fills `points` and `squares` (squared distances) with the nearest points, nearest first, and tells how many there are.
   * Of points equally far the one met first comes first.
   *
   * @param beyond squared distance at or below which points are passed over
   */
  gatherNearest(
    x: number,
    y: number,
    z: number,
    points: Uint32Array,
    squares: Float64Array,
    within = Infinity,
    beyond = -1,
  ): number {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const sorted = this.#sorted;
    const room = points.length;
    const lx = x - center[0];
    const ly = y - center[1];
    const lz = z - center[2];
    let found = 0;
    let farthest = within * within;
    // Boxes are off by up to the slack: those as near as this may hold a nearer point.
    let reach = (within + slack) ** 2;
    let open = 1;
    stack[0] = 0;
    stackDistance[0] = 0;
    while (open > 0) {
      open--;
      if (stackDistance[open] > reach) continue;
      let node = stack[open];
      while (count[node] === 0) {
        const one = node + 1;
        const other = skip[one];
        const toOne = squaredDistanceToBox(boxes, one, lx, ly, lz);
        const toOther = squaredDistanceToBox(boxes, other, lx, ly, lz);
        stack[open] = toOne <= toOther ? other : one;
        stackDistance[open++] = Math.max(toOne, toOther);
        node = toOne <= toOther ? one : other;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const dx = sorted[3 * i] - x;
        const dy = sorted[3 * i + 1] - y;
        const dz = sorted[3 * i + 2] - z;
        const square = dx * dx + dy * dy + dz * dz;
        if (square > farthest || square <= beyond || (found === room && square === farthest)) continue;
        let at = found < room ? found++ : room - 1;
        for (; at > 0 && squares[at - 1] > square; at--) {
          squares[at] = squares[at - 1];
          points[at] = points[at - 1];
        }
        squares[at] = square;
        points[at] = order[i];
        if (found === room) {
          farthest = squares[room - 1];
          reach = (Math.sqrt(farthest) + slack) ** 2;
        }
      }
    }
    return found;
  }

  /** Distance from point `p` to the nearest that does not share its place, mm; Infinity if all do. */
  nearestOther(p: number): number {
    const { positions } = this;
    const square = new Float64Array(1);
    const point = new Uint32Array(1);
    const [x, y, z] = [positions[3 * p], positions[3 * p + 1], positions[3 * p + 2]];
    return this.gatherNearest(x, y, z, point, square, Infinity, 0) === 0 ? Infinity : Math.sqrt(square[0]);
  }

  within(place: Vec3, radius: number): Uint32Array {
    const found: number[] = [];
    this.eachWithin(place[0], place[1], place[2], radius, (p) => {
      found.push(p);
    });
    return Uint32Array.from(found).sort();
  }

  /** Calls `visit` for each point no farther than `radius` mm from a place. */
  eachWithin(
    x: number,
    y: number,
    z: number,
    radius: number,
    visit: (point: number, squaredDistance: number) => void,
  ): void {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const sorted = this.#sorted;
    const square = radius * radius;
    const x0 = x - center[0] - radius - slack;
    const y0 = y - center[1] - radius - slack;
    const z0 = z - center[2] - radius - slack;
    const width = 2 * (radius + slack);
    const x1 = x0 + width;
    const y1 = y0 + width;
    const z1 = z0 + width;
    for (let node = 0; node < skip.length; ) {
      if (boxesClear(boxes, node, x0, y0, z0, x1, y1, z1)) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const dx = sorted[3 * i] - x;
        const dy = sorted[3 * i + 1] - y;
        const dz = sorted[3 * i + 2] - z;
        const d = dx * dx + dy * dy + dz * dz;
        if (d <= square) visit(order[i], d);
      }
      node++;
    }
  }

  box({ min, max }: Bounds): Uint32Array {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const sorted = this.#sorted;
    const found: number[] = [];
    const x0 = min[0] - center[0] - slack;
    const y0 = min[1] - center[1] - slack;
    const z0 = min[2] - center[2] - slack;
    const x1 = max[0] - center[0] + slack;
    const y1 = max[1] - center[1] + slack;
    const z1 = max[2] - center[2] + slack;
    for (let node = 0; node < skip.length; ) {
      if (boxesClear(boxes, node, x0, y0, z0, x1, y1, z1)) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const x = sorted[3 * i];
        const y = sorted[3 * i + 1];
        const z = sorted[3 * i + 2];
        if (x >= min[0] && x <= max[0] && y >= min[1] && y <= max[1] && z >= min[2] && z <= max[2])
          found.push(order[i]);
      }
      node++;
    }
    return Uint32Array.from(found).sort();
  }

  ray(from: Vec3, direction: Vec3, reach = 0): Found | undefined {
    const { boxes, skip, start, count, order, center, slack } = this.#tree;
    const sorted = this.#sorted;
    const local = subtract(from, center);
    const along = normalize(direction);
    let first = -1;
    let least = Infinity;
    for (let node = 0; node < skip.length; ) {
      if (alongToBox(boxes, node, local, along, reach + slack) >= least) {
        node = skip[node];
        continue;
      }
      for (let i = start[node], end = i + count[node]; i < end; i++) {
        const dx = sorted[3 * i] - from[0];
        const dy = sorted[3 * i + 1] - from[1];
        const dz = sorted[3 * i + 2] - from[2];
        const t = dx * along[0] + dy * along[1] + dz * along[2];
        if (t < 0 || t >= least) continue;
        const off = (dx - t * along[0]) ** 2 + (dy - t * along[1]) ** 2 + (dz - t * along[2]) ** 2;
        if (off > reach * reach) continue;
        least = t;
        first = i;
      }
      node++;
    }
    if (first < 0) return undefined;
    const position: Vec3 = [sorted[3 * first], sorted[3 * first + 1], sorted[3 * first + 2]];
    return { position, distance: least, element: order[first] };
  }
}
