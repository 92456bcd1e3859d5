import type { Bounds } from '@fettle/geom';
import type { Surface } from './surface.js';

export type SignedDistance = (x: number, y: number, z: number) => number;

/** A distance function built by blending may climb a little faster than 1 mm per mm. */
const steepest = 1.45;

/**
 * The surface where `distance` is zero as a mesh with edges of about `spacing`, by surface nets: a vertex in each cell of a
 * lattice the surface passes through, a quadrilateral across each lattice edge it cuts (S. Gibson, MICCAI 1998), each vertex
 * then moved onto the surface by Newton steps along the gradient, so that it lies on it to rounding.
 *
 * Cells are found by halving blocks that may hold surface, and each lattice point is evaluated once, layer by layer: 1 M
 * triangles ask for some 5 M distances where the whole lattice has 150 M points.
 */
export function surfaceNets(distance: SignedDistance, bounds: Bounds, spacing: number): Surface {
  const [x0, y0, z0] = bounds.min;
  const cells = (axis: 0 | 1 | 2) => 2 * Math.ceil((bounds.max[axis] - bounds.min[axis]) / spacing / 2);
  const nx = cells(0);
  const ny = cells(1);
  const nz = cells(2);
  const pairs = pairsByLayer(distance, bounds, spacing, [nx / 2, ny / 2, nz / 2]);

  const vertices = new Numbers(Float64Array);
  const quads = new Numbers(Uint32Array);

  // Two layers of lattice points and two of cells, used in turn. A stamp tells whether an entry belongs to the layer in
  // hand, so nothing is cleared.
  const row = nx + 1;
  const layerSize = row * (ny + 1);
  const values = [0, 1].map(() => new Float64Array(layerSize));
  const stamps = [0, 1].map(() => new Int32Array(layerSize).fill(-1));
  const vertexOf = [0, 1].map(() => new Int32Array(layerSize));
  const cellStamps = [0, 1].map(() => new Int32Array(layerSize).fill(-1));

  const valueAt = (i: number, j: number, k: number): number => {
    const at = j * row + i;
    const layer = k & 1;
    if (stamps[layer]![at] === k) return values[layer]![at]!;
    stamps[layer]![at] = k;
    const d = distance(x0 + i * spacing, y0 + j * spacing, z0 + k * spacing);
    values[layer]![at] = d;
    return d;
  };

  const corner = new Float64Array(8);
  const placeVertex = (i: number, j: number, k: number): void => {
    let inside = 0;
    for (let c = 0; c < 8; c++) {
      corner[c] = valueAt(i + (c & 1), j + ((c >> 1) & 1), k + (c >> 2));
      if (corner[c]! < 0) inside++;
    }
    if (inside === 0 || inside === 8) return;
    let x = 0;
    let y = 0;
    let z = 0;
    let crossings = 0;
    for (let c = 0; c < 8; c++) {
      for (let bit = 1; bit < 8; bit <<= 1) {
        if (c & bit) continue;
        const a = corner[c]!;
        const b = corner[c | bit]!;
        if (a < 0 === b < 0) continue;
        const t = a / (a - b);
        x += (c & 1) + (bit === 1 ? t : 0);
        y += ((c >> 1) & 1) + (bit === 2 ? t : 0);
        z += (c >> 2) + (bit === 4 ? t : 0);
        crossings++;
      }
    }
    const at = j * row + i;
    cellStamps[k & 1]![at] = k;
    vertexOf[k & 1]![at] = vertices.length / 3;
    vertices.push(x0 + (i + x / crossings) * spacing);
    vertices.push(y0 + (j + y / crossings) * spacing);
    vertices.push(z0 + (k + z / crossings) * spacing);
  };

  const vertexAt = (i: number, j: number, k: number): number =>
    cellStamps[k & 1]![j * row + i] === k ? vertexOf[k & 1]![j * row + i]! : -1;

  /** The quadrilateral around a lattice edge, through the four cells that share it, turned so that it faces outward. */
  const spanEdge = (a: number, b: number, v0: number, v1: number, v2: number, v3: number): void => {
    if (a < 0 === b < 0 || v0 < 0 || v1 < 0 || v2 < 0 || v3 < 0) return;
    if (a < 0) quads.push(v0, v1, v2, v3);
    else quads.push(v3, v2, v1, v0);
  };

  for (let layer = 0; layer < nz / 2; layer++) {
    const here = pairs[layer]!;
    for (let k = 2 * layer; k < 2 * layer + 2; k++) {
      for (const pair of here) {
        const i0 = 2 * (pair % (nx / 2));
        const j0 = 2 * Math.floor(pair / (nx / 2));
        for (let c = 0; c < 4; c++) placeVertex(i0 + (c & 1), j0 + (c >> 1), k);
      }
      for (const pair of here) {
        const i0 = 2 * (pair % (nx / 2));
        const j0 = 2 * Math.floor(pair / (nx / 2));
        for (let c = 0; c < 4; c++) {
          const i = i0 + (c & 1);
          const j = j0 + (c >> 1);
          const v = vertexAt(i, j, k);
          if (v < 0 || i === 0 || j === 0) continue;
          const d = valueAt(i, j, k);
          spanEdge(d, valueAt(i, j, k + 1), vertexAt(i - 1, j - 1, k), vertexAt(i, j - 1, k), v, vertexAt(i - 1, j, k));
          if (k === 0) continue;
          const under = vertexAt(i, j, k - 1);
          spanEdge(d, valueAt(i + 1, j, k), vertexAt(i, j - 1, k - 1), under, v, vertexAt(i, j - 1, k));
          spanEdge(d, valueAt(i, j + 1, k), vertexAt(i - 1, j, k), v, under, vertexAt(i - 1, j, k - 1));
        }
      }
    }
  }

  const positions = vertices.take() as Float64Array;
  const normals = projectOnto(distance, positions);
  return { positions, normals, triangles: splitQuads(quads.take() as Uint32Array, positions) };
}

/** Blocks of 2 × 2 × 2 cells that may hold surface: for each layer of them along z, their indices in the layer. */
function pairsByLayer(
  distance: SignedDistance,
  bounds: Bounds,
  spacing: number,
  [nx, ny, nz]: readonly [number, number, number],
): number[][] {
  const layers: number[][] = Array.from({ length: nz }, () => []);
  const [x0, y0, z0] = bounds.min;
  const pair = 2 * spacing;
  const visit = (i: number, j: number, k: number, size: number): void => {
    if (i >= nx || j >= ny || k >= nz) return;
    const half = size / 2;
    const d = distance(x0 + (i + half) * pair, y0 + (j + half) * pair, z0 + (k + half) * pair);
    if (Math.abs(d) > steepest * half * pair * Math.sqrt(3)) return;
    if (size === 1) {
      layers[k]!.push(j * nx + i);
      return;
    }
    for (let c = 0; c < 8; c++) visit(i + (c & 1) * half, j + ((c >> 1) & 1) * half, k + (c >> 2) * half, half);
  };
  visit(0, 0, 0, 2 ** Math.ceil(Math.log2(Math.max(nx, ny, nz))));
  return layers;
}

/** Moves points onto the surface along the gradient, in place; returns the unit normals there. */
function projectOnto(distance: SignedDistance, positions: Float64Array): Float64Array {
  const normals = new Float64Array(positions.length);
  const e = 1e-3;
  for (let i = 0; i < positions.length; i += 3) {
    let x = positions[i]!;
    let y = positions[i + 1]!;
    let z = positions[i + 2]!;
    for (let step = 0; step < 12; step++) {
      const d = distance(x, y, z);
      // Central differences along the four diagonals of a cube.
      const a = distance(x + e, y - e, z - e);
      const b = distance(x - e, y - e, z + e);
      const c = distance(x - e, y + e, z - e);
      const f = distance(x + e, y + e, z + e);
      const gx = (a - b - c + f) / (4 * e);
      const gy = (c - a - b + f) / (4 * e);
      const gz = (b - a - c + f) / (4 * e);
      const squared = gx * gx + gy * gy + gz * gz;
      const l = Math.sqrt(squared);
      normals[i] = gx / l;
      normals[i + 1] = gy / l;
      normals[i + 2] = gz / l;
      if (Math.abs(d) < 1e-11) break;
      x -= (d * gx) / squared;
      y -= (d * gy) / squared;
      z -= (d * gz) / squared;
    }
    positions[i] = x;
    positions[i + 1] = y;
    positions[i + 2] = z;
  }
  return normals;
}

/** Two triangles a quadrilateral, split along its shorter diagonal. */
function splitQuads(quads: Uint32Array, positions: Float64Array): Uint32Array {
  const triangles = new Uint32Array((quads.length / 4) * 6);
  const squared = (a: number, b: number): number => {
    const dx = positions[3 * a]! - positions[3 * b]!;
    const dy = positions[3 * a + 1]! - positions[3 * b + 1]!;
    const dz = positions[3 * a + 2]! - positions[3 * b + 2]!;
    return dx * dx + dy * dy + dz * dz;
  };
  for (let q = 0, t = 0; q < quads.length; q += 4, t += 6) {
    const a = quads[q]!;
    const b = quads[q + 1]!;
    const c = quads[q + 2]!;
    const d = quads[q + 3]!;
    const across = squared(a, c) <= squared(b, d);
    triangles[t] = a;
    triangles[t + 1] = b;
    triangles[t + 2] = across ? c : d;
    triangles[t + 3] = across ? a : b;
    triangles[t + 4] = c;
    triangles[t + 5] = d;
  }
  return triangles;
}

/** A typed array that grows. */
class Numbers {
  private array: Float64Array | Uint32Array;
  length = 0;

  constructor(private readonly Type: Float64ArrayConstructor | Uint32ArrayConstructor) {
    this.array = new Type(1 << 16);
  }

  push(...values: number[]): void {
    if (this.length + values.length > this.array.length) {
      const larger = new this.Type(2 * this.array.length);
      larger.set(this.array);
      this.array = larger;
    }
    for (const value of values) this.array[this.length++] = value;
  }

  take(): Float64Array | Uint32Array {
    return this.array.slice(0, this.length);
  }
}
