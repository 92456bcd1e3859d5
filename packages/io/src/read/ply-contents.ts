import { counted, countText } from '../text/number-text.js';
import { Column } from './column.js';
import { warnOfLacking } from './lacking-faces.js';
import { type PlyElement, type PlyHeader, type Scalar, sizeOf } from './ply-header.js';
import { PolygonList } from './polygons.js';
import type { FileContents, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { RunningBounds } from './running-bounds.js';

/** Which property of the vertex element, by its place in a row, is what; -1 where there is none. */
export interface VertexLayout {
  readonly position: readonly number[];
  readonly normal: readonly number[] | undefined;
  readonly color: readonly number[] | undefined;
}

const colorNames = [
  ['red', 'green', 'blue'],
  ['diffuse_red', 'diffuse_green', 'diffuse_blue'],
  ['r', 'g', 'b'],
] as const;

/** Finds coordinates, normals and colors by the names PLY files give them. Errors: `no-coordinates`. */
function vertexLayout(element: PlyElement, name: string): VertexLayout {
  const places = (names: readonly string[], nameOf: (p: PlyElement['properties'][number]) => string) => {
    const found = names.map((n) => element.properties.findIndex((p) => nameOf(p) === n && p.countType === undefined));
    return found.every((p) => p >= 0) ? found : undefined;
  };
  // As they are written first: x and X may both be there.
  const find = (names: readonly string[]) => places(names, (p) => p.name) ?? places(names, (p) => p.name.toLowerCase());
  const position = find(['x', 'y', 'z']);
  if (position === undefined) {
    const names = element.properties.map((p) => p.name).join(', ') || 'none';
    throw refusal(
      name,
      'no-coordinates',
      `its vertices have no properties x, y and z, only: ${names}. Export it again with coordinates.`,
    );
  }
  return {
    position,
    normal: find(['nx', 'ny', 'nz']),
    color: colorNames.map(find).find((found) => found !== undefined),
  };
}

/** What a color of this type is multiplied by to lie in 0 to 255. */
export const colorScale = (type: Scalar): number => (type.startsWith('float') ? 255 : type === 'uint16' ? 1 / 257 : 1);

export const asColor = (value: number): number => (value >= 255 ? 255 : value > 0 ? Math.round(value) : 0);

/** What of a PLY file makes a scan, and what its rows make of it: the text and the binary body both write here. */
export class PlyContents {
  readonly header: PlyHeader;
  readonly context: ReadContext;
  /** Vertices the header promises: indices are checked against it, and nothing is allocated for it. */
  readonly points: number;
  readonly layout: VertexLayout | undefined;
  readonly positions: Column<Float64Array>;
  readonly normals: Column<Float32Array>;
  readonly colors: Column<Uint8Array>;
  readonly triangles: Column<Uint32Array>;
  readonly polygons = new PolygonList();
  /** Whoever adds positions widens it, and makes normals unit. */
  readonly bounds = new RunningBounds();
  hasFaces = false;
  /** Faces of fewer than three corners. */
  lacking = 0;

  /** @param expected whether the file is known to be large enough for what its header asks. */
  constructor(header: PlyHeader, context: ReadContext, expected: boolean, expectedTriangles: number | undefined) {
    this.header = header;
    this.context = context;
    const vertex = header.elements.find((e) => e.name === 'vertex');
    this.points = vertex?.count ?? 0;
    if (vertex === undefined) {
      throw refusal(context.name, 'no-coordinates', "the header has no element 'vertex'. Export it again.");
    }
    if (this.points > 0xffffffff) {
      throw refusal(
        context.name,
        'too-large',
        `its header asks for ${countText(this.points)} vertices; indices reach 4,294,967,295. Split the scan.`,
      );
    }
    this.layout = vertexLayout(vertex, context.name);
    const { ahead } = context;
    const values = expected ? 3 * this.points : undefined;
    const perByte = 3 / leastBytes(vertex);
    this.positions = new Column(Float64Array, values, perByte, ahead);
    this.normals = new Column(Float32Array, this.layout.normal && values, perByte, ahead);
    this.colors = new Column(Uint8Array, this.layout.color && values, perByte, ahead);
    const corners = expectedTriangles === undefined ? undefined : 3 * expectedTriangles;
    const face = header.elements.find((e) => roleOf(e).role === 'faces');
    const bytesACorner = face === undefined ? 1 : sizeOf[face.properties[roleOf(face).list].type];
    // Of a polygon of many corners each makes a triangle, three corners.
    this.triangles = new Column(Uint32Array, corners, 3 / bytesACorner, ahead);
  }

  /**
   * Whether a face has corners enough to be one; counts those that have not, which are left out. Refuses a count of corners that the
   * file cannot mean: bridges to holes name a vertex several times, three times each over all at most.
   */
  isFace(corners: number, element: PlyElement, row: number, line?: number): boolean {
    if (Number.isInteger(corners) && corners >= 3 && corners <= 3 * this.points) return true;
    if (corners === 0 || corners === 1 || corners === 2) {
      this.lacking++;
      return false;
    }
    if (corners === 3) return true;
    const what =
      Number.isInteger(corners) && corners > 0
        ? `has ${counted(corners, 'corner')}; the file has ${counted(this.points, 'vertex', 'vertices')}`
        : `has ${countText(corners)} corners; it needs three`;
    throw this.bad('bad-face', element, row, what, line);
  }

  /** Refuses a corner that names no vertex. */
  badIndex(index: number, element: PlyElement, row: number, line?: number): Error {
    let what = `names vertex ${countText(index)}; the file has ${counted(this.points, 'vertex', 'vertices')}, counted from 0`;
    if (!Number.isFinite(index)) what = 'names a vertex by what is no number';
    else if (!Number.isInteger(index)) what = `names vertex ${index}, which is no whole number`;
    return this.bad('index-out-of-range', element, row, what, line);
  }

  bad(code: string, element: PlyElement, row: number, what: string, line?: number): Error {
    const where = line === undefined ? '' : `line ${countText(line)}: `;
    const which = `${element.name} ${countText(row + 1)} of ${countText(element.count)}`;
    return refusal(this.context.name, code, `${where}${which} ${what}. Export it again.`);
  }

  /** The file ended inside `element`, behind `rows` whole rows. Throws, or notes what was lost where that was asked for. */
  endedEarly(element: PlyElement, rows: number, ends: string): void {
    const { name, keepWhole, warnings } = this.context;
    const which = `${element.name} ${countText(rows + 1)} of ${countText(element.count)} cut short: ${ends}`;
    if (!keepWhole) throw refusal(name, 'cut-short', `${which}. Export it again.`);
    const unread = this.header.elements.slice(this.header.elements.indexOf(element) + 1).filter((e) => e.count > 0);
    const rest = unread.map((e) => ` and all ${rowsOf(e)}`).join('');
    warnings.push({
      code: 'cut-short',
      message: `${name}: ${which}. Lost: ${rowsOf(element, element.count - rows)}${rest}.`,
    });
  }

  /** The file goes on behind the last row its header counts. Padding is noted, anything else is a wrong count. */
  goesOn(bytes: number, meaning: boolean): void {
    const { name, keepWhole, warnings } = this.context;
    const counts = this.header.elements.map((e) => rowsOf(e)).join(', ');
    if (meaning && !keepWhole) {
      throw refusal(
        name,
        'wrong-count',
        `the file goes on for ${counted(bytes, 'byte')} behind what its header counts (${counts}). Export it again.`,
      );
    }
    warnings.push({
      code: meaning ? 'wrong-count' : 'padded',
      message: `${name}: ${counted(bytes, 'byte')} behind what its header counts (${counts}) left out.`,
    });
  }

  take(): FileContents {
    warnOfLacking(this.lacking, this.context);
    const { layout, hasFaces, polygons } = this;
    const positions = this.positions.take();
    const normals = layout?.normal && this.normals.take();
    const colors = layout?.color && this.colors.take();
    const triangles = hasFaces && this.triangles.length > 0 ? this.triangles.take() : undefined;
    // Faces may stand before their vertices, and a file cut short may lack some of those.
    const isWhole = positions.length === 3 * this.points;
    const named = isWhole ? triangles : triangles && namingOnly(positions.length / 3, triangles);
    const { unit } = this.header;
    return {
      positions,
      bounds: this.bounds,
      hasUnitNormals: true,
      ...(named && { triangles: named }),
      ...(named && isWhole && { polygons }),
      ...(normals && { normals }),
      ...(colors && { colors }),
      ...(unit && { unit }),
    };
  }
}

/** The triangles whose corners are all among the first `points` points. */
function namingOnly(points: number, triangles: Uint32Array): Uint32Array {
  let n = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    if (triangles[t] >= points || triangles[t + 1] >= points || triangles[t + 2] >= points) continue;
    triangles.copyWithin(n, t, t + 3);
    n += 3;
  }
  return triangles.slice(0, n);
}

/** "8 vertices", "1 face" */
const rowsOf = ({ name, count }: PlyElement, rows = count): string =>
  counted(rows, name, name === 'vertex' ? 'vertices' : undefined);

/** Bytes a row of an element takes at least, in binary. */
const leastBytes = ({ properties }: PlyElement): number =>
  properties.reduce((sum, p) => sum + sizeOf[p.countType ?? p.type], 0);

/** What an element's rows are read for. */
export type Role = 'vertices' | 'faces' | 'strips' | 'nothing';

/** The role of an element and, for faces and strips, the place of the list of corners. */
export function roleOf(element: PlyElement): { role: Role; list: number } {
  if (element.name === 'vertex') return { role: 'vertices', list: -1 };
  const list = element.properties.findIndex(
    (p) => p.countType !== undefined && (p.name === 'vertex_indices' || p.name === 'vertex_index'),
  );
  if (list >= 0 && element.name === 'face') return { role: 'faces', list };
  if (list >= 0 && element.name === 'tristrips') return { role: 'strips', list };
  return { role: 'nothing', list: -1 };
}

/** Corners of strips (Stanford's `tristrips`: −1 begins a new strip, every second triangle is turned) as triangles. */
export function cutStrip(corners: ArrayLike<number>, n: number, into: Uint32Array, at: number): number {
  let to = at;
  let start = 0;
  for (let i = 0; i < n; i++) {
    if (corners[i] === -1) {
      start = i + 1;
      continue;
    }
    if (i - start < 2) continue;
    const odd = (i - start) % 2 === 1;
    const [a, b, c] = [corners[odd ? i - 1 : i - 2], corners[odd ? i - 2 : i - 1], corners[i]];
    if (a === b || b === c || c === a) continue;
    into[to++] = a;
    into[to++] = b;
    into[to++] = c;
  }
  return to;
}
