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
