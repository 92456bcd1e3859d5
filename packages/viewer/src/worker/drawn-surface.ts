import { bounds, boundsCenter, type Mesh, type Scan, type Vec3, vertexNormals } from '@fettle/geom';
import { MeshoptSimplifier } from 'meshoptimizer/simplifier';
import type { DrawnSurface } from './protocol.js';

/** With no more triangles than this a scan is drawn in full while the view moves. */
const FEW = 250_000;
/** Triangles of the reduced copy, about. */
const REDUCED = 120_000;
/** Points of a cloud's reduced copy. */
const REDUCED_POINTS = 200_000;

/** A scan for drawing. A cloud without normals has zeros: nothing in it says which way it faces. */
export function drawnSurface(scan: Scan): DrawnSurface {
  const origin = boundsCenter(bounds(scan));
  return {
    origin,
    positions: placed(scan.positions, origin),
    ...(scan.triangles && { triangles: scan.triangles.slice() }),
    normals: normalsOf(scan),
    ...(scan.colors && { colors: scan.colors.slice() }),
  };
}

/**
 * The same with far fewer triangles, made by meshoptimizer's clustering of points: a million triangles in about a tenth of the time that
 * collapsing edges takes, and good enough to turn. Undefined where the surface is small as it is.
 */
export async function reducedSurface(surface: DrawnSurface): Promise<DrawnSurface | undefined> {
  const { positions, triangles } = surface;
  if (triangles === undefined) return reducedCloud(surface);
  if (triangles.length <= 3 * FEW) return undefined;
  await MeshoptSimplifier.ready;
  const [corners] = MeshoptSimplifier.simplifySloppy(triangles, positions, 3, null, 3 * REDUCED, 1);
  const [moved, count] = MeshoptSimplifier.compactMesh(corners);
  const points = new Uint32Array(count);
  for (let p = 0; p < moved.length; p++) if (moved[p]! < count) points[moved[p]!] = p;
  return { ...chosen(surface, points), triangles: corners };
}

function reducedCloud(surface: DrawnSurface): DrawnSurface | undefined {
  const count = surface.positions.length / 3;
  const step = Math.ceil(count / REDUCED_POINTS);
  if (step <= 1) return undefined;
  return chosen(
    surface,
    Uint32Array.from({ length: Math.ceil(count / step) }, (_, i) => i * step),
  );
}

/** Some points of a surface. */
function chosen({ origin, positions, normals, colors }: DrawnSurface, points: Uint32Array): DrawnSurface {
  const pick = <A extends Float32Array | Int8Array | Uint8Array>(from: A, to: A): A => {
    for (let i = 0; i < points.length; i++) {
      const p = 3 * points[i]!;
      to[3 * i] = from[p]!;
      to[3 * i + 1] = from[p + 1]!;
      to[3 * i + 2] = from[p + 2]!;
    }
    return to;
  };
  const length = 3 * points.length;
  return {
    origin,
    positions: pick(positions, new Float32Array(length)),
    normals: pick(normals, new Int8Array(length)),
    ...(colors && { colors: pick(colors, new Uint8Array(length)) }),
    points,
  };
}

function placed(positions: Float64Array, [x, y, z]: Vec3): Float32Array {
  const near = new Float32Array(positions.length);
  for (let i = 0; i < near.length; i += 3) {
    near[i] = positions[i]! - x;
    near[i + 1] = positions[i + 1]! - y;
    near[i + 2] = positions[i + 2]! - z;
  }
  return near;
}

function normalsOf(scan: Scan): Int8Array {
  const normals = scan.normals ?? (scan.triangles ? vertexNormals(scan as Mesh, 'area') : undefined);
  const bytes = new Int8Array(scan.positions.length);
  if (normals) for (let i = 0; i < bytes.length; i++) bytes[i] = Math.round(127 * normals[i]!);
  return bytes;
}
