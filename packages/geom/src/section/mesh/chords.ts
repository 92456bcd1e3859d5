import type { Plane } from '../../feature/feature.js';
import type { Mesh } from '../../scan/scan.js';
import { crossingsOf } from './crossings.js';
import { distanceFrom } from './sides.js';

/** How far the points of a section lie under the surface, because edges of triangles are chords of it. */
export interface Chords {
  /** How far the surface lies outside the points on the whole, mm: above 0 where it is convex along the edges. */
  readonly under: number;
  /** Share of the points on edges over which the surface turns by more than 20°. */
  readonly turning: number;
  /** Middle length of those edges, mm. */
  readonly side: number;
}

/** The surface turns by more than this over an edge of a mesh only where the mesh hardly follows it, radians. */
const steep = Math.PI / 9;

/** The normals of the points of a mesh, xyz xyz …, right at those asked about. */
type NormalsAt = (points: Uint32Array) => ArrayLike<number> | undefined;

/**
 * Compares the points of a section with the surface that the normals at both ends of their edges tell of. Along an edge of length L
 * over which the normal turns by θ the surface stands L·θ·s(1 − s)/2 over the chord at share s of it, as a circle does; over a sharp
 * edge of the body up to twice that. Noise tilts normals either way, and the mean over the points does not hold it.
 *
 * On the pump of the examples, holes of 18 mm cut 1 mm under their rims: triangles of 1.7 mm, diameters 0.21 mm too large, 0.05 to
 * 0.06 mm found here; 1 mm, 0.01 to 0.04 mm too large, 0.02 to 0.03 mm found; 0.66 mm, right, 0.001 to 0.002 mm found.
 *
 * @param points crossings of the mesh's edges with the plane as `cutMesh` gives them, xyz xyz …; others are passed over
 * @returns undefined where no point is such a crossing, or the mesh has no normals
 */
export function chordsOf(mesh: Mesh, plane: Plane, points: Float64Array, normalsAt: NormalsAt): Chords | undefined {
  const edges = edgesAt(mesh, plane, points);
  const found = edges.flatMap((edge) => (edge ? [edge] : []));
  if (found.length === 0) return undefined;
  const normals = normalsAt(Uint32Array.from(found.flat()));
  if (normals === undefined) return undefined;
  const { positions } = mesh;
  const distance = distanceFrom(plane);
  const sides: number[] = [];
  let under = 0;
  for (const [p, q] of found) {
    let long = 0;
    let turn = 0;
    let along = 0;
    for (let k = 0; k < 3; k++) {
      const way = positions[3 * q + k] - positions[3 * p + k];
      long += way * way;
      turn += (normals[3 * q + k] - normals[3 * p + k]) * way;
      along += normals[3 * p + k] * normals[3 * q + k];
    }
    const share = distance(positions, p) / (distance(positions, p) - distance(positions, q));
    // The turn over the edge times its length.
    under += (turn * share * (1 - share)) / 2;
    if (Math.acos(Math.min(1, along)) > steep) sides.push(Math.sqrt(long));
  }
  sides.sort((a, b) => a - b);
  return {
    under: under / found.length,
    turning: sides.length / found.length,
    side: sides.length > 0 ? sides[sides.length >> 1] : 0,
  };
}

/** For each of some points the two points of the mesh's edge on which it is a crossing with the plane; undefined for others. */
export function edgesAt(
  mesh: Mesh,
  plane: Plane,
  points: Float64Array,
): (readonly [first: number, second: number] | undefined)[] {
  const { nodes, first, second } = crossingsOf(mesh, plane);
  const numbered = nodesByX(nodes);
  return Array.from({ length: points.length / 3 }, (_, i) => {
    const at = (numbered.get(points[3 * i]) ?? []).find(
      (n) => nodes[3 * n + 1] === points[3 * i + 1] && nodes[3 * n + 2] === points[3 * i + 2],
    );
    return at === undefined || first[at] === second[at] ? undefined : ([first[at], second[at]] as const);
  });
}

function nodesByX(nodes: Float64Array): Map<number, number[]> {
  const numbered = new Map<number, number[]>();
  for (let n = 0; n < nodes.length / 3; n++) {
    const same = numbered.get(nodes[3 * n]);
    if (same) same.push(n);
    else numbered.set(nodes[3 * n], [n]);
  }
  return numbered;
}
