/** A mesh with a normal at each vertex. */
export interface Surface {
  /** xyz xyz …, mm. */
  readonly positions: Float64Array;
  /** Outward unit normals, xyz xyz …. */
  readonly normals: Float64Array;
  /** Vertex indices, three a triangle, counterclockwise from outside. */
  readonly triangles: Uint32Array;
}

/** The triangles whose three vertices are all kept, and the vertices they use. */
export function keepVertices({ positions, normals, triangles }: Surface, kept: Uint8Array): Surface {
  const renamed = new Int32Array(positions.length / 3).fill(-1);
  const newTriangles = new Uint32Array(triangles.length);
  const order = new Uint32Array(renamed.length);
  let vertices = 0;
  let corners = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    if (!kept[triangles[t]!] || !kept[triangles[t + 1]!] || !kept[triangles[t + 2]!]) continue;
    for (let c = 0; c < 3; c++) {
      const v = triangles[t + c]!;
      if (renamed[v]! < 0) {
        renamed[v] = vertices;
        order[vertices++] = v;
      }
      newTriangles[corners++] = renamed[v]!;
    }
  }
  const pick = (from: Float64Array): Float64Array => {
    const to = new Float64Array(3 * vertices);
    for (let v = 0; v < vertices; v++) for (let c = 0; c < 3; c++) to[3 * v + c] = from[3 * order[v]! + c]!;
    return to;
  };
  return { positions: pick(positions), normals: pick(normals), triangles: newTriangles.slice(0, corners) };
}

/** Several meshes as one, not connected. */
export function joinSurfaces(pieces: readonly Surface[]): Surface {
  const sum = (size: (piece: Surface) => number): number => pieces.reduce((total, piece) => total + size(piece), 0);
  const positions = new Float64Array(sum((p) => p.positions.length));
  const normals = new Float64Array(positions.length);
  const triangles = new Uint32Array(sum((p) => p.triangles.length));
  let at = 0;
  let corners = 0;
  for (const piece of pieces) {
    positions.set(piece.positions, at);
    normals.set(piece.normals, at);
    for (const v of piece.triangles) triangles[corners++] = at / 3 + v;
    at += piece.positions.length;
  }
  return { positions, normals, triangles };
}

/** Unit normals at the vertices from the triangles about each, by area: what a scanner's own program writes beside them. */
export function vertexNormals(positions: Float64Array, triangles: Uint32Array): Float32Array {
  const sums = new Float64Array(positions.length);
  for (let t = 0; t < triangles.length; t += 3) {
    const a = 3 * triangles[t]!;
    const b = 3 * triangles[t + 1]!;
    const c = 3 * triangles[t + 2]!;
    const ux = positions[b]! - positions[a]!;
    const uy = positions[b + 1]! - positions[a + 1]!;
    const uz = positions[b + 2]! - positions[a + 2]!;
    const vx = positions[c]! - positions[a]!;
    const vy = positions[c + 1]! - positions[a + 1]!;
    const vz = positions[c + 2]! - positions[a + 2]!;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    for (let k = 0; k < 3; k++) {
      const v = 3 * triangles[t + k]!;
      sums[v] = sums[v]! + nx;
      sums[v + 1] = sums[v + 1]! + ny;
      sums[v + 2] = sums[v + 2]! + nz;
    }
  }
  const normals = new Float32Array(positions.length);
  for (let v = 0; v < normals.length; v += 3) {
    const l = Math.hypot(sums[v]!, sums[v + 1]!, sums[v + 2]!);
    if (l === 0) continue;
    for (let k = v; k < v + 3; k++) normals[k] = sums[k]! / l;
  }
  return normals;
}
