import { counted, countText } from '../report/number-text.js';
import { Column } from './column.js';
import { textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { accessorOf, type Complain, entryOf, type Fields, valuesOf, wholeOf } from './gltf-accessor.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';

const JSON_CHUNK = 0x4e4f534a;
const BINARY_CHUNK = 0x004e4942;
/** More than a scene may place: some gigabytes of arrays. A few nodes can place a mesh any number of times. */
const MOST = { points: 200_000_000, placements: 1_000_000 };

/** Extensions a file may require of us: those that only say how numbers are stored, which accessors do as well. */
const understood = new Set([
  'KHR_mesh_quantization',
  'KHR_materials_unlit',
  'KHR_texture_transform',
  'KHR_texture_basisu',
]);

/**
 * glTF binary (Khronos, glTF 2.0; ISO/IEC 12113): all meshes of the scene, placed by their nodes, as one scan in meters, which the
 * standard says they are; normals, and colors from linear light to the sRGB of other formats. Points that the file has several
 * times, where textures or edges part, stay several. Skins, morphs and animations are passed over: the scan is as it stands.
 * Errors: `cut-short`, `bad-model`, `not-read` (compression, data in other files), `index-out-of-range`, `too-large`.
 */
export class GlbReader implements FormatReader {
  readonly format = 'glb';
  readonly encoding = 'binary';
  readonly #context: ReadContext;
  readonly #bytes = new Column(Uint8Array);

  constructor(context: ReadContext) {
    this.#context = context;
  }

  push(bytes: Uint8Array): void {
    this.#bytes.append(bytes);
  }

  end(): FileContents {
    const { name, warnings } = this.#context;
    const complain: Complain = (what, code = 'bad-model') => {
      throw refusal(name, code, `a glTF binary: ${what}. Export it again.`);
    };
    const { document, binary } = chunksOfFile(this.#bytes.take(), complain);
    for (const extension of listOf(document, 'extensionsRequired')) {
      if (!understood.has(String(extension)))
        complain(`it needs '${excerpt(String(extension))}', which is not read: export it without`, 'not-read');
    }
    const placed = placedPrimitives(document, complain);
    const meshes = placed.filter(({ mode }) => mode === 0 || mode >= 4);
    if (meshes.length < placed.length) {
      warnings.push({
        code: 'lines-passed-over',
        message: `${name}: ${counted(placed.length - meshes.length, 'mesh', 'meshes')} of lines passed over.`,
      });
    }
    return assemble(document, binary, meshes, complain);
  }
}

/** The two chunks of the file. */
function chunksOfFile(bytes: Uint8Array, complain: Complain): { document: Fields; binary: DataView } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  if (bytes.length < 20) complain(`cut short after ${countText(bytes.length)} bytes`, 'cut-short');
  const version = view.getUint32(4, true);
  if (version !== 2) complain(`version ${countText(version)}; only 2 is read`, 'not-read');
  const length = view.getUint32(8, true);
  if (length > bytes.length)
    complain(
      `cut short: the file holds ${countText(bytes.length)} bytes, its header asks for ${countText(length)}`,
      'cut-short',
    );
  let document: unknown;
  let binary: DataView = new DataView(new ArrayBuffer(0));
  for (let at = 12; at + 8 <= length; ) {
    const size = view.getUint32(at, true);
    const type = view.getUint32(at + 4, true);
    const from = at + 8;
    if (from + size > length) complain(`a chunk of ${countText(size)} bytes reaches beyond its ${countText(length)}`);
    if (type === JSON_CHUNK && document === undefined) {
      try {
        document = JSON.parse(textOf(bytes, from, from + size));
      } catch {
        complain('its description is no JSON');
      }
    } else if (type === BINARY_CHUNK && binary.byteLength === 0)
      binary = new DataView(bytes.buffer, bytes.byteOffset + from, size);
    at = from + size;
  }
  if (typeof document !== 'object' || document === null) complain('it has no description');
  return { document: document as Fields, binary };
}

const listOf = (fields: Fields, name: string): readonly unknown[] => (Array.isArray(fields[name]) ? fields[name] : []);

/** A piece of a mesh where a node puts it. */
interface PlacedPrimitive {
  readonly primitive: Fields;
  readonly mode: number;
  /** Column by column, 4 × 4. */
  readonly matrix: readonly number[];
}

/** What the scene's nodes place; without a scene, all meshes as they stand. */
function placedPrimitives(document: Fields, complain: Complain): PlacedPrimitive[] {
  const placed: PlacedPrimitive[] = [];
  const take = (mesh: Fields, matrix: readonly number[]): void => {
    for (const primitive of listOf(mesh, 'primitives')) {
      if (typeof primitive !== 'object' || primitive === null) complain('a primitive is no object');
      const mode = wholeOf(primitive as Fields, 'mode', 4, complain);
      if (mode > 6) complain(`a primitive has mode ${countText(mode)}`);
      placed.push({ primitive: primitive as Fields, mode, matrix });
      if (placed.length > MOST.placements)
        complain(`its nodes place more than ${countText(MOST.placements)} meshes`, 'too-large');
    }
  };
  if (listOf(document, 'scenes').length === 0) {
    for (const mesh of listOf(document, 'meshes')) take(Object(mesh) as Fields, identity);
    return placed;
  }
  const scene = entryOf(document, 'scenes', document.scene ?? 0, complain);
  const waiting = listOf(scene, 'nodes').map((index) => ({ index, outer: identity }));
  const seen = new Set<unknown>();
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    const node = entryOf(document, 'nodes', next.index, complain);
    // Nodes are a tree: one met twice would be its own child, or placed twice.
    if (seen.has(next.index)) complain(`node ${String(next.index)} has two parents`);
    seen.add(next.index);
    const matrix = product(next.outer, matrixOf(node, complain));
    if (node.mesh !== undefined) take(entryOf(document, 'meshes', node.mesh, complain), matrix);
    for (const index of listOf(node, 'children')) waiting.push({ index, outer: matrix });
  }
  return placed;
}

/** All pieces in one set of arrays, counted before anything is allocated. */
function assemble(
  document: Fields,
  binary: DataView,
  placed: readonly PlacedPrimitive[],
  complain: Complain,
): FileContents {
  const pieces = placed.map(({ primitive, mode, matrix }) => {
    const attributes = Object(primitive.attributes) as Fields;
    if (attributes.POSITION === undefined) complain('a mesh has no positions', 'not-read');
    const accessor = (name: string) =>
      attributes[name] === undefined ? undefined : accessorOf(document, attributes[name], binary, complain);
    const position = accessor('POSITION')!;
    const normal = accessor('NORMAL');
    const color = accessor('COLOR_0');
    if (position.width !== 3) complain('positions should have three coordinates');
    for (const other of [normal, color]) {
      if (other !== undefined && (other.count < position.count || other.width < 3))
        complain('normals or colors are fewer than positions');
    }
    const index =
      primitive.indices === undefined ? undefined : accessorOf(document, primitive.indices, binary, complain);
    const corners = index?.count ?? position.count;
    const triangles = mode === 0 ? 0 : mode === 4 ? Math.floor(corners / 3) : Math.max(corners - 2, 0);
    return { position, normal, color, index, triangles, mode, matrix };
  });
  const points = pieces.reduce((sum, piece) => sum + piece.position.count, 0);
  const triangleCount = pieces.reduce((sum, piece) => sum + piece.triangles, 0);
  if (points > MOST.points || triangleCount > MOST.points) {
    complain(`its nodes place ${countText(points)} points and ${countText(triangleCount)} triangles`, 'too-large');
  }
  const positions = new Float64Array(3 * points);
  const normals = pieces.some((piece) => piece.normal) ? new Float32Array(3 * points) : undefined;
  const colors = pieces.some((piece) => piece.color) ? new Uint8Array(3 * points).fill(255) : undefined;
  const triangles = new Uint32Array(3 * triangleCount);
  let first = 0;
  let corner = 0;
  for (const { position, normal, color, index, mode, matrix: m } of pieces) {
    const p = valuesOf(position, binary);
    for (let i = 0; i < p.length; i += 3) {
      const [x, y, z] = [p[i], p[i + 1], p[i + 2]];
      for (let k = 0; k < 3; k++) positions[3 * first + i + k] = m[k] * x + m[4 + k] * y + m[8 + k] * z + m[12 + k];
    }
    if (normals !== undefined && normal !== undefined) {
      const n = valuesOf(normal, binary);
      // Normals go by the cofactors: right for scales that differ by axis, and turned over where the mesh is mirrored back below.
      const c = cofactors(m);
      for (let i = 0, to = 3 * first; to < 3 * (first + position.count); i += normal.width, to += 3) {
        for (let k = 0; k < 3; k++) normals[to + k] = c[k] * n[i] + c[3 + k] * n[i + 1] + c[6 + k] * n[i + 2];
      }
    }
    if (colors !== undefined && color !== undefined) {
      const c = valuesOf(color, binary);
      for (let i = 0, to = 3 * first; to < 3 * (first + position.count); i += color.width, to += 3) {
        for (let k = 0; k < 3; k++) colors[to + k] = asSrgb(c[i + k]);
      }
    }
    if (mode !== 0) {
      const order = index === undefined ? undefined : valuesOf(index, binary);
      const beyond = order?.find((v) => v >= position.count);
      if (beyond !== undefined) {
        complain(
          `a triangle names vertex ${countText(beyond)} of ${countText(position.count)}, counted from 0`,
          'index-out-of-range',
        );
      }
      corner = cutPrimitive(order, position.count, mode, determinant(m) < 0, first, triangles, corner);
    }
    first += position.count;
  }
  return {
    positions,
    ...(triangleCount > 0 && { triangles }),
    ...(normals && { normals }),
    ...(colors && { colors }),
    unit: 'm',
  };
}

/** Triangles of a list (4), a strip (5) or a fan (6), section 3.7.2.1; corners numbered from `first`. */
function cutPrimitive(
  order: Float64Array | undefined,
  points: number,
  mode: number,
  isMirrored: boolean,
  first: number,
  into: Uint32Array,
  at: number,
): number {
  const corners = order?.length ?? points;
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

const identity: readonly number[] = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** A node's matrix, or the one of its translation, rotation and scale. */
function matrixOf(node: Fields, complain: Complain): readonly number[] {
  const numbers = (name: string, otherwise: readonly number[]): readonly number[] => {
    const value = node[name] ?? otherwise;
    const isRight = Array.isArray(value) && value.length === otherwise.length && value.every(Number.isFinite);
    if (!isRight) complain(`a node's ${name} should be ${countText(otherwise.length)} numbers`);
    return value as readonly number[];
  };
  if (node.matrix !== undefined) return numbers('matrix', identity);
  const [tx, ty, tz] = numbers('translation', [0, 0, 0]);
  const [x, y, z, w] = numbers('rotation', [0, 0, 0, 1]);
  const [sx, sy, sz] = numbers('scale', [1, 1, 1]);
  return [
    sx * (1 - 2 * (y * y + z * z)),
    sx * 2 * (x * y + z * w),
    sx * 2 * (x * z - y * w),
    0,
    sy * 2 * (x * y - z * w),
    sy * (1 - 2 * (x * x + z * z)),
    sy * 2 * (y * z + x * w),
    0,
    sz * 2 * (x * z + y * w),
    sz * 2 * (y * z - x * w),
    sz * (1 - 2 * (x * x + y * y)),
    0,
    tx,
    ty,
    tz,
    1,
  ];
}

/** a · b, both column by column. */
const product = (a: readonly number[], b: readonly number[]): number[] =>
  Array.from({ length: 16 }, (_, i) => {
    const [row, column] = [i % 4, i - (i % 4)];
    return a[row] * b[column] + a[row + 4] * b[column + 1] + a[row + 8] * b[column + 2] + a[row + 12] * b[column + 3];
  });

const determinant = (m: readonly number[]): number =>
  m[0] * (m[5] * m[10] - m[9] * m[6]) - m[4] * (m[1] * m[10] - m[9] * m[2]) + m[8] * (m[1] * m[6] - m[5] * m[2]);

/** Cofactors of the upper 3 × 3, column by column, with the sign that keeps normals outward: the inverse transposed, up to scale. */
function cofactors(m: readonly number[]): readonly number[] {
  const sign = determinant(m) < 0 ? -1 : 1;
  const [a, b, c, d, e, f, g, h, i] = [m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]];
  return [
    sign * (e * i - h * f),
    sign * (g * f - d * i),
    sign * (d * h - g * e),
    sign * (h * c - b * i),
    sign * (a * i - g * c),
    sign * (g * b - a * h),
    sign * (b * f - e * c),
    sign * (d * c - a * f),
    sign * (a * e - d * b),
  ];
}

/** Linear light, 0 to 1, to an octet of sRGB (IEC 61966-2-1). */
const asSrgb = (linear: number): number => {
  const l = Math.min(1, Math.max(0, linear));
  return Math.round(255 * (l <= 0.0031308 ? 12.92 * l : 1.055 * l ** (1 / 2.4) - 0.055));
};
