import type { Plane } from '../../feature/feature.js';
import { dot } from '../../math/vec3.js';
import { boundaryEdges } from '../../scan/holes.js';
import type { Mesh } from '../../scan/scan.js';
import { triangleNormal } from '../../scan/triangle-normal.js';
import { type Runs, runsNear } from './blocks.js';
import { PairNumbers } from './pair-numbers.js';
import { distanceFrom, type Sides, sidesOf, upper } from './sides.js';

/** Where a plane crosses a mesh: nodes on its edges, and segments between them through its triangles. */
export interface Crossings {
  /** xyz of the nodes, mm. */
  readonly nodes: Float64Array;
  /** For each node the two points of its edge; of a node at a point, that point twice. */
  readonly first: Uint32Array;
  readonly second: Uint32Array;
  /**
   * Pairs of nodes, none twice. Each runs with the outside of its triangle on the right, seen against the plane's normal: around
   * a solid counterclockwise.
   */
  readonly segments: Uint32Array;
}

/**
 * A node is known by the two points of its edge, or by the one point that lies on the plane; never by its coordinates. So what
 * the mesh holds together stays together, and what it does not is not joined.
 *
 * One pass over the points for their sides, one over the triangles, both over all of them or over those near the plane. The tree
 * of triangles (spatialIndex) would find the near ones too, but building it takes 40 times as long as a cut.
 */
export function crossingsOf(mesh: Mesh, plane: Plane): Crossings {
  const runs = runsNear(mesh, plane);
  const sides = sidesOf(mesh, plane, runs);
  const crossed = crossedTriangles(mesh.triangles, runs, sides.side);
  const edges = new PairNumbers(crossed.length + 16);
  let links = linkEdges(mesh.triangles, crossed, sides, edges);
  if (sides.isOn) links = Uint32Array.from([...links, ...rimsInPlane(mesh, plane, sides.isOn, edges)]);
  const { first, second, count } = edges;
  return {
    nodes: placeNodes(mesh.positions, plane, edges),
    first: first.subarray(0, count),
    second: second.subarray(0, count),
    segments: dropRepeated(links),
  };
}

/** First corners, in `triangles`, of the triangles that the plane crosses. */
function crossedTriangles(triangles: Uint32Array, runs: Runs, side: Uint8Array): Uint32Array {
  let crossed = new Uint32Array(1 << 14);
  let count = 0;
  // The sum of a triangle's sides is 1 or 2 where it is crossed; more than any other with a corner that is not selected.
  const add = (t: number, sum: number): void => {
    if (sum !== 1 && sum !== 2) return;
    if (count === crossed.length) {
      const wider = new Uint32Array(2 * count);
      wider.set(crossed);
      crossed = wider;
    }
    crossed[count++] = t;
  };
  for (let r = 0; r < runs.length; r += 2) {
    const end = runs[r + 1];
    let t = runs[r];
    // Most are not crossed: asking four at a time is a third faster.
    for (; t + 12 <= end; t += 12) {
      const a = side[triangles[t]] + side[triangles[t + 1]] + side[triangles[t + 2]];
      const b = side[triangles[t + 3]] + side[triangles[t + 4]] + side[triangles[t + 5]];
      const c = side[triangles[t + 6]] + side[triangles[t + 7]] + side[triangles[t + 8]];
      const d = side[triangles[t + 9]] + side[triangles[t + 10]] + side[triangles[t + 11]];
      const sum = a + b + c + d;
      if (sum === 0 || sum === 12) continue;
      add(t, a);
      add(t + 3, b);
      add(t + 6, c);
      add(t + 9, d);
    }
    for (; t < end; t += 3) add(t, side[triangles[t]] + side[triangles[t + 1]] + side[triangles[t + 2]]);
  }
  return crossed.subarray(0, count);
}

/** The two nodes of each crossed triangle, in the direction of its segment. */
function linkEdges(triangles: Uint32Array, crossed: Uint32Array, sides: Sides, edges: PairNumbers): Uint32Array {
  const { side, isOn } = sides;
  const nodeOn = (p: number, q: number): number => {
    if (isOn?.[p]) return edges.numberOf(p, p);
    if (isOn?.[q]) return edges.numberOf(q, q);
    return p < q ? edges.numberOf(p, q) : edges.numberOf(q, p);
  };
  const links = new Uint32Array(2 * crossed.length);
  let filled = 0;
  for (let i = 0; i < crossed.length; i++) {
    const t = crossed[i];
    const a = side[triangles[t]];
    const b = side[triangles[t + 1]];
    const c = side[triangles[t + 2]];
    // The corner that is alone on its side, then the other two as they follow it around the triangle.
    const k = b === c ? 0 : c === a ? 1 : 2;
    const alone = triangles[t + k];
    const ahead = nodeOn(alone, triangles[t + ((k + 1) % 3)]);
    const behind = nodeOn(alone, triangles[t + ((k + 2) % 3)]);
    if (ahead === behind) continue;
    links[filled++] = side[alone] === upper ? ahead : behind;
    links[filled++] = side[alone] === upper ? behind : ahead;
  }
  return links.subarray(0, filled);
}

/** The border of an open mesh where the triangles at it lie in the plane: no triangle crosses there. */
function rimsInPlane(mesh: Mesh, plane: Plane, isOn: Uint8Array, edges: PairNumbers): number[] {
  const { triangles, positions } = mesh;
  const inPlane: number[] = [];
  for (let t = 0; t < triangles.length; t += 3)
    if (isOn[triangles[t]] && isOn[triangles[t + 1]] && isOn[triangles[t + 2]]) inPlane.push(t);
  if (inPlane.length === 0) return [];
  const count = positions.length / 3;
  const border = boundaryEdges(mesh);
  const rim = new Set<number>();
  for (let e = 0; e < border.length; e += 2) rim.add(border[e] * count + border[e + 1]);
  const links: number[] = [];
  for (const t of inPlane) {
    const faceUp = dot(triangleNormal(positions, triangles, t / 3), plane.normal) >= 0;
    for (let k = 0; k < 3; k++) {
      const p = triangles[t + k];
      const q = triangles[t + ((k + 1) % 3)];
      if (!rim.has(p * count + q)) continue;
      const from = edges.numberOf(p, p);
      const to = edges.numberOf(q, q);
      if (faceUp) links.push(from, to);
      else links.push(to, from);
    }
  }
  return links;
}

function placeNodes(positions: Float64Array, plane: Plane, edges: PairNumbers): Float64Array {
  const distance = distanceFrom(plane);
  const nodes = new Float64Array(3 * edges.count);
  for (let n = 0; n < edges.count; n++) {
    const p = edges.first[n];
    const q = edges.second[n];
    const d = p === q ? 0 : distance(positions, p);
    const share = p === q ? 0 : d / (d - distance(positions, q));
    for (let k = 0; k < 3; k++)
      nodes[3 * n + k] = positions[3 * p + k] + share * (positions[3 * q + k] - positions[3 * p + k]);
  }
  return nodes;
}

/** A triangle listed twice gives its segment twice, and so do the two sides of a ridge that touches the plane from one side. */
function dropRepeated(links: Uint32Array): Uint32Array {
  const pairs = new PairNumbers(links.length / 2);
  const segments = new Uint32Array(links.length);
  let kept = 0;
  for (let i = 0; i < links.length; i += 2) {
    const from = links[i];
    const to = links[i + 1];
    const before = pairs.count;
    if (pairs.numberOf(Math.min(from, to), Math.max(from, to)) < before) continue;
    segments[kept++] = from;
    segments[kept++] = to;
  }
  return segments.slice(0, kept);
}
