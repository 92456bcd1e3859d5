import { countText } from '../text/number-text.js';
import { type Accessor, accessorOf, measured, unsigned, valuesOf } from './gltf-accessor.js';
import type { GltfBuffers } from './gltf-buffers.js';
import type { Complain, Fields } from './gltf-fields.js';
import { listOf } from './gltf-fields.js';
import { cofactors, determinant } from './gltf-matrix.js';
import type { PlacedPrimitive } from './gltf-scene.js';
import { blendedMatrices } from './gltf-skin.js';
import type { FileContents } from './reader.js';

/** More than a scene may place: some gigabytes of arrays. */
const MOST_POINTS = 200_000_000;

/** A primitive with its accessors, of which nothing is read yet. */
interface Piece {
  readonly placed: PlacedPrimitive;
  readonly position: Accessor;
  readonly normal: Accessor | undefined;
  readonly color: Accessor | undefined;
  readonly index: Accessor | undefined;
  readonly triangles: number;
}

/** All pieces in one set of arrays, counted before anything is allocated. */
export function assemble(
  document: Fields,
  buffers: GltfBuffers,
  placed: readonly PlacedPrimitive[],
  complain: Complain,
): FileContents {
  const pieces = placed.map((each) => pieceOf(document, buffers, each, complain));
  const points = pieces.reduce((sum, piece) => sum + piece.position.count, 0);
  const triangleCount = pieces.reduce((sum, piece) => sum + piece.triangles, 0);
  if (points > MOST_POINTS || triangleCount > MOST_POINTS) {
    complain(`its nodes place ${countText(points)} points and ${countText(triangleCount)} triangles`, 'too-large');
  }
  const positions = new Float64Array(3 * points);
  const normals = pieces.some((piece) => piece.normal) ? new Float32Array(3 * points) : undefined;
  const colors = pieces.some((piece) => piece.color) ? new Uint8Array(3 * points).fill(255) : undefined;
  const triangles = new Uint32Array(3 * triangleCount);
  let first = 0;
  let corner = 0;
  for (const piece of pieces) {
    const isMirrored = place(document, buffers, piece, complain, first, positions, normals);
    if (colors !== undefined && piece.color !== undefined) {
      const { width } = piece.color;
      const c = valuesOf(piece.color, complain);
      for (let i = 0, to = 3 * first; to < 3 * (first + piece.position.count); i += width, to += 3) {
        for (let k = 0; k < 3; k++) colors[to + k] = asSrgb(c[i + k]);
      }
    }
    corner = cutPrimitive(piece, isMirrored, first, triangles, corner, complain);
    first += piece.position.count;
  }
  return {
    positions,
    ...(triangleCount > 0 && { triangles }),
    ...(normals && { normals }),
    ...(colors && { colors }),
    unit: 'm',
  };
}

function pieceOf(document: Fields, buffers: GltfBuffers, placed: PlacedPrimitive, complain: Complain): Piece {
  const { primitive, mode } = placed;
  const attributes = Object(primitive.attributes) as Fields;
  if (attributes.POSITION === undefined) complain('a mesh has no positions', 'not-read');
  const accessor = (name: string) =>
    attributes[name] === undefined ? undefined : accessorOf(document, attributes[name], buffers, complain);
  const position = accessor('POSITION')!;
  const normal = accessor('NORMAL');
  const color = accessor('COLOR_0');
  if (position.width !== 3) complain('positions should have three coordinates');
  for (const other of [position, normal, color]) {
    if (other === undefined) continue;
    if (!measured.has(other.componentType))
      complain('positions, normals or colors are of a type that only indices have');
    if (other.count < position.count || other.width < 3 || other.width > 4)
      complain('normals or colors are fewer than positions');
  }
  const index =
    primitive.indices === undefined ? undefined : accessorOf(document, primitive.indices, buffers, complain);
  if (index !== undefined && (index.width !== 1 || index.isNormalized || !unsigned.has(index.componentType)))
    complain(
      `indices are of type ${String(index.componentType)}, which is no whole number without a sign (5121, 5123, 5125)`,
    );
  const corners = index?.count ?? position.count;
  const triangles = mode === 0 ? 0 : mode === 4 ? Math.floor(corners / 3) : Math.max(corners - 2, 0);
  return { placed, position, normal, color, index, triangles };
}

/** Writes the points and normals of a piece, morphed, skinned or placed; gives whether that mirrors them. */
function place(
  document: Fields,
  buffers: GltfBuffers,
  { placed, position, normal }: Piece,
  complain: Complain,
  first: number,
  positions: Float64Array,
  normals: Float32Array | undefined,
): boolean {
  const { count } = position;
  const p = morphed(document, buffers, placed, 'POSITION', position, complain);
  const n = normals && normal && morphed(document, buffers, placed, 'NORMAL', normal, complain);
  const width = normal?.width ?? 3;
  const skin = placed.joints && blendedMatrices(document, buffers, placed, count, complain);
  let m = placed.matrix;
  let c = cofactors(m);
  let mirrored = 0;
  for (let v = 0; v < count; v++) {
    const to = 3 * (first + v);
    if (skin !== undefined) {
      m = skin(v);
      if (n !== undefined) c = cofactors(m);
      if (determinant(m) < 0) mirrored++;
    }
    const x = p[3 * v];
    const y = p[3 * v + 1];
    const z = p[3 * v + 2];
    for (let k = 0; k < 3; k++) positions[to + k] = m[k] * x + m[4 + k] * y + m[8 + k] * z + m[12 + k];
    if (n === undefined) continue;
    // Normals go by the cofactors: right for scales that differ by axis, and turned over where the mesh is mirrored back below.
    const i = width * v;
    for (let k = 0; k < 3; k++) normals![to + k] = c[k] * n[i] + c[3 + k] * n[i + 1] + c[6 + k] * n[i + 2];
  }
  return skin === undefined ? determinant(m) < 0 : mirrored > count / 2;
}

/** The values of an attribute with the morph targets added that have a weight (section 3.7.2.2). */
function morphed(
  document: Fields,
  buffers: GltfBuffers,
  { primitive, weights }: PlacedPrimitive,
  name: 'POSITION' | 'NORMAL',
  base: Accessor,
  complain: Complain,
): Float64Array {
  const values = valuesOf(base, complain);
  listOf(primitive, 'targets').forEach((target, t) => {
    const weight = weights[t] ?? 0;
    const index = (Object(target) as Fields)[name];
    if (weight === 0 || index === undefined) return;
    if (typeof weight !== 'number') complain('the weight of a morph target is no number');
    const accessor = accessorOf(document, index, buffers, complain);
    if (accessor.width !== base.width || accessor.count < base.count)
      complain('a morph target has fewer values than what it changes');
    const change = valuesOf(accessor, complain);
    for (let i = 0; i < values.length; i++) values[i] += (weight as number) * change[i];
  });
  return values;
}

/** Writes the triangles of a list (4), a strip (5) or a fan (6), section 3.7.2.1, into `into` from `at` on; gives the place behind. */
function cutPrimitive(
  { placed: { mode }, position, index }: Piece,
  isMirrored: boolean,
  first: number,
  into: Uint32Array,
  at: number,
  complain: Complain,
): number {
  if (mode === 0) return at;
  const order = index && valuesOf(index, complain);
  const beyond = order?.find((v) => v >= position.count);
  if (beyond !== undefined) {
    complain(
      `a triangle names vertex ${countText(beyond)} of ${countText(position.count)}, counted from 0`,
      'index-out-of-range',
    );
  }
  const corners = order?.length ?? position.count;
  const corner = (i: number): number => first + (order === undefined ? i : order[i]);
  let to = at;
  const step = mode === 4 ? 3 : 1;
  for (let i = 0; i + 2 < corners; i += step) {
    let [a, b, c] = [i, i + 1, i + 2];
    if (mode === 5 && i % 2 === 1) [b, c] = [c, b];
    if (mode === 6) a = 0;
    if (isMirrored) [b, c] = [c, b];
    into[to++] = corner(a);
    into[to++] = corner(b);
    into[to++] = corner(c);
  }
  return to;
}

/** Linear light, 0 to 1, to an octet of sRGB (IEC 61966-2-1). */
const asSrgb = (linear: number): number => {
  const l = Math.min(1, Math.max(0, linear));
  return Math.round(255 * (l <= 0.0031308 ? 12.92 * l : 1.055 * l ** (1 / 2.4) - 0.055));
};
