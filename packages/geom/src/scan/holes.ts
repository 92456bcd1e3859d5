import { pointTriangles } from './adjacency.js';
import type { Scan } from './scan.js';

/** A run of edges that only one triangle has: the rim of a hole, or the outer border of an open mesh. */
export interface Hole {
  /** Points along it, in order; a closed one does not repeat its first. */
  readonly points: Uint32Array;
  /** False only beside edges of three or more triangles, where a rim can end. */
  readonly closed: boolean;
  /** mm */
  readonly perimeter: number;
}

/**
 * The boundary loops of a mesh, longest first (of an open scan the first is as a rule its outer border). Nothing is filled.
 * Where loops touch in a point each is told apart. A cloud has none.
 */
export function holes(scan: Scan): readonly Hole[] {
  const loops = joinLoops(boundaryEdges(scan), scan.positions.length / 3);
  return loops
    .map(({ points, closed }) => ({ points, closed, perimeter: lengthAlong(scan.positions, points, closed) }))
    .sort((a, b) => b.perimeter - a.perimeter || a.points[0] - b.points[0]);
}

/**
 * Edges of one triangle only, as pairs of points, in the direction the triangle runs along them. Triangles that name a point twice
 * have no edges.
 */
export function boundaryEdges(scan: Scan): Uint32Array {
  const corners = scan.triangles ?? new Uint32Array();
  const { offsets, triangles } = pointTriangles(scan);
  const found: number[] = [];
  // The far ends of the edges at one point, and how often each was met; a point has about six.
  let ends = new Uint32Array(64);
  let times = new Uint32Array(64);
  let forward = new Uint8Array(64);
  for (let p = 0; p + 1 < offsets.length; p++) {
    let known = 0;
    if (2 * (offsets[p + 1] - offsets[p]) > ends.length) {
      const room = 4 * (offsets[p + 1] - offsets[p]);
      ends = new Uint32Array(room);
      times = new Uint32Array(room);
      forward = new Uint8Array(room);
    }
    for (let i = offsets[p]; i < offsets[p + 1]; i++) {
      const c = 3 * triangles[i];
      if (corners[c] === corners[c + 1] || corners[c + 1] === corners[c + 2] || corners[c + 2] === corners[c]) continue;
      for (let k = 0; k < 3; k++) {
        const a = corners[c + k];
        const b = corners[c + ((k + 1) % 3)];
        // Each edge is counted at its lower point.
        const q = a === p ? b : b === p ? a : p;
        if (q <= p) continue;
        let e = 0;
        while (e < known && ends[e] !== q) e++;
        if (e === known) {
          ends[e] = q;
          times[e] = 0;
          forward[e] = a === p ? 1 : 0;
          known++;
        }
        times[e]++;
      }
    }
    for (let e = 0; e < known; e++) {
      if (times[e] !== 1) continue;
      if (forward[e]) found.push(p, ends[e]);
      else found.push(ends[e], p);
    }
  }
  return Uint32Array.from(found);
}

/** Walks the edges each once; whenever the walk comes back to a point it holds, the part since then is a loop of its own. */
function joinLoops(edges: Uint32Array, pointCount: number): readonly Omit<Hole, 'perimeter'>[] {
  const offsets = new Uint32Array(pointCount + 1);
  for (const p of edges) offsets[p + 1]++;
  for (let p = 0; p < pointCount; p++) offsets[p + 1] += offsets[p];
  const edgesAt = new Uint32Array(edges.length);
  const filled = offsets.slice();
  for (let i = 0; i < edges.length; i++) edgesAt[filled[edges[i]]++] = i >> 1;

  const used = new Uint8Array(edges.length / 2);
  /** An edge to go on along from `p`: the triangles' own direction where there is a choice; -1 if all are used. */
  const onward = (p: number): number => {
    let found = -1;
    for (let i = offsets[p]; i < offsets[p + 1]; i++) {
      const e = edgesAt[i];
      if (used[e]) continue;
      if (edges[2 * e] === p) return e;
      if (found < 0) found = e;
    }
    return found;
  };

  const loops: Omit<Hole, 'perimeter'>[] = [];
  const path: number[] = [];
  const place = new Int32Array(pointCount).fill(-1);
  const walkFrom = (start: number): void => {
    path.push(start);
    place[start] = 0;
    for (let p = start, e = onward(p); e >= 0; e = onward(p)) {
      used[e] = 1;
      p = edges[2 * e] === p ? edges[2 * e + 1] : edges[2 * e];
      if (place[p] < 0) {
        place[p] = path.length;
        path.push(p);
        continue;
      }
      loops.push({ points: Uint32Array.from(path.slice(place[p])), closed: true });
      while (path.length > place[p] + 1) place[path.pop()!] = -1;
    }
    if (path.length > 1) loops.push({ points: Uint32Array.from(path), closed: false });
    for (const p of path) place[p] = -1;
    path.length = 0;
  };
  // A rim that ends does so where an odd number of boundary edges meets: start there, to walk it from end to end.
  for (const p of edges) if ((offsets[p + 1] - offsets[p]) % 2 === 1 && onward(p) >= 0) walkFrom(p);
  for (let e = 0; e < used.length; e++) if (!used[e]) walkFrom(edges[2 * e]);
  return loops;
}

function lengthAlong(positions: Float64Array, points: Uint32Array, closed: boolean): number {
  let length = 0;
  for (let i = closed ? 0 : 1; i < points.length; i++) {
    const a = 3 * points[i === 0 ? points.length - 1 : i - 1];
    const b = 3 * points[i];
    length += Math.hypot(
      positions[a] - positions[b],
      positions[a + 1] - positions[b + 1],
      positions[a + 2] - positions[b + 2],
    );
  }
  return length;
}
