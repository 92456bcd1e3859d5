import { countText } from '../text/number-text.js';
import type { ByteWindow } from './byte-window.js';
import { asColor, colorScale, cutStrip, type PlyContents, type Role, roleOf } from './ply-contents.js';
import { type PlyElement, type PlyHeader, type Scalar, sizeOf } from './ply-header.js';
import { makeUnit } from './unit-normals.js';

/** One element of the body and how far it is read. */
interface Table {
  readonly element: PlyElement;
  readonly role: Role;
  /** Place of the list of corners. */
  readonly list: number;
  /** Bytes a row where all rows are equally long, else undefined. */
  readonly stride: number | undefined;
  rows: number;
}

/** Bytes the header asks for: exact without lists, else the least, three corners a face. */
export function bytesAskedFor(header: PlyHeader): { bytes: number; exact: boolean } {
  let bytes = header.size;
  let exact = true;
  for (const element of header.elements) {
    const { role, list } = roleOf(element);
    let row = 0;
    element.properties.forEach((p, place) => {
      row += sizeOf[p.countType ?? p.type];
      if (role === 'faces' && place === list) row += 3 * sizeOf[p.type];
      if (p.countType !== undefined && element.count > 0) exact = false;
    });
    bytes += element.count * row;
  }
  return { bytes, exact };
}

/** Triangles of a file of `total` bytes if its only lists are faces of three corners each, else undefined. */
export function trianglesExpected(header: PlyHeader, total: number): number | undefined {
  const face = header.elements.find((e) => roleOf(e).role === 'faces');
  if (face === undefined) return undefined;
  const lists = header.elements.flatMap((e) =>
    e.count > 0 ? e.properties.filter((p) => p.countType !== undefined) : [],
  );
  return lists.length === 1 && bytesAskedFor(header).bytes === total ? face.count : undefined;
}

/** Reads the rows of a binary PLY file as they come. */
export class PlyBinary {
  readonly #contents: PlyContents;
  readonly #little: boolean;
  readonly #tables: readonly Table[];
  #current = 0;
  #scratch = new Uint32Array(0);
  #pairs = new Uint32Array(0);
  #behind = 0;
  #behindMeans = false;

  constructor(contents: PlyContents) {
    this.#contents = contents;
    this.#little = contents.header.format === 'binary_little_endian';
    this.#tables = contents.header.elements.map((element) => {
      const fixed = element.properties.every((p) => p.countType === undefined);
      const stride = fixed ? element.properties.reduce((sum, p) => sum + sizeOf[p.type], 0) : undefined;
      return { element, ...roleOf(element), stride, rows: 0 };
    });
  }

  /** Uses whole rows from `at` on; gives the place behind the last one. */
  consume(window: ByteWindow, at: number, have: number): number {
    let i = at;
    for (; this.#current < this.#tables.length; this.#current++) {
      const table = this.#tables[this.#current];
      i =
        table.stride === undefined ? this.#readLists(window, i, have, table) : this.#readFixed(window, i, have, table);
      if (table.rows < table.element.count) return i;
    }
    this.#behind += have - i;
    for (; i < have && !this.#behindMeans; i++) this.#behindMeans = window.bytes[i] !== 0;
    return have;
  }

  end(size: number): void {
    const table = this.#tables[this.#current];
    if (table !== undefined) {
      const asked = bytesAskedFor(this.#contents.header);
      const asks = countText(asked.bytes);
      this.#contents.endedEarly(
        table.element,
        table.rows,
        asked.exact || asked.bytes > size
          ? `the file holds ${countText(size)} bytes, its header asks for ${asked.exact ? '' : 'at least '}${asks}`
          : `the file ends after ${countText(size)} bytes`,
      );
    } else if (this.#behind > 0) this.#contents.goesOn(this.#behind, this.#behindMeans);
  }

  #readFixed(window: ByteWindow, at: number, have: number, table: Table): number {
    const { element, role, stride } = table;
    const wanted = element.count - table.rows;
    const rows = stride === 0 ? wanted : Math.min(wanted, Math.floor((have - at) / stride!));
    if (rows === 0) return at;
    if (role === 'vertices') {
      const offsets: number[] = [];
      let offset = 0;
      for (const p of element.properties) {
        offsets.push(offset);
        offset += sizeOf[p.type];
      }
      this.#takeVertices(element, rows, (properties, into, first) => {
        const places = properties.map((p) => offsets[p]);
        const types = properties.map((p) => element.properties[p].type);
        copyTriples(window.view, at, stride!, rows, places, types, this.#little, into, first);
      });
    }
    table.rows += rows;
    return at + rows * stride!;
  }

  /** Takes `rows` vertices, of which the callback copies three properties a row into `into` from `first` on. */
  #takeVertices(
    element: PlyElement,
    rows: number,
    copy: (properties: readonly number[], into: Float64Array | Float32Array, first: number) => void,
  ): void {
    const { layout, positions, normals, colors, bounds } = this.#contents;
    if (layout === undefined) return;
    const p = positions.room(3 * rows);
    copy(layout.position, p.into, p.at);
    bounds.widen(p.into, p.at, p.at + 3 * rows);
    if (layout.normal !== undefined) {
      const n = normals.room(3 * rows);
      copy(layout.normal, n.into, n.at);
      makeUnit(n.into, n.at, n.at + 3 * rows);
    }
    if (layout.color !== undefined) {
      const c = colors.room(3 * rows);
      const values = new Float32Array(3 * rows);
      copy(layout.color, values, 0);
      for (let k = 0; k < 3; k++) {
        const scale = colorScale(element.properties[layout.color[k]].type);
        for (let i = k; i < 3 * rows; i += 3) c.into[c.at + i] = asColor(values[i] * scale);
      }
    }
  }

  #readLists(window: ByteWindow, at: number, have: number, table: Table): number {
    if (table.role === 'vertices') return this.#readRaggedVertices(window, at, have, table);
    if (table.role === 'nothing') return this.#skip(window, at, have, table);
    // A corner takes a byte at least, and a face has fewer triangles than corners.
    if (this.#scratch.length < 3 * have) {
      this.#scratch = new Uint32Array(3 * have);
      this.#pairs = new Uint32Array(2 * have);
    }
    this.#contents.hasFaces = true;
    return table.role === 'faces'
      ? this.#readFaces(window, at, have, table)
      : this.#readStrips(window, at, have, table);
  }

  #readFaces(window: ByteWindow, at: number, have: number, table: Table): number {
    const { element, list } = table;
    const { bytes, view } = window;
    const { points, triangles, polygons } = this.#contents;
    const property = element.properties[list];
    const little = this.#little;
    const scratch = this.#scratch;
    const isCommon =
      little && element.properties.length === 1 && sizeOf[property.countType!] === 1 && /^u?int32$/.test(property.type);
    const offsets = new Float64Array(element.properties.length + 1);
    let i = at;
    let row = table.rows;
    let n = 0;
    let pairs = 0;
    const flush = (): void => {
      polygons.append(this.#pairs.subarray(0, pairs), triangles.length / 3);
      triangles.append(scratch.subarray(0, n));
      n = 0;
      pairs = 0;
    };
    while (row < element.count) {
      if (isCommon) {
        // The common case, three corners of four bytes: no walk over properties, no switch over types.
        const most = Math.min(element.count - row, Math.floor((have - i) / 13));
        let plain: number;
        if (triangles.isExpected) {
          flush();
          const { into, at: first } = triangles.room(3 * most);
          plain = takeTriangles(bytes, view, i, most, points, into, first);
          triangles.giveBack(3 * (most - plain));
        } else {
          plain = takeTriangles(bytes, view, i, most, points, scratch, n);
          n += 3 * plain;
        }
        i += 13 * plain;
        row += plain;
        if (row === element.count) break;
      }
      const end = walk(view, i, have, element, little, offsets);
      const start = offsets[list];
      if (start >= 0) {
        const corners = readScalar(view, start, property.countType!, little);
        // Rows that are not all there are asked about too: their count may be one that no file can hold.
        const isFace = end >= 0 || corners > 2 ? this.#contents.isFace(corners, element, row) : false;
        if (end >= 0 && isFace) {
          let from = start + sizeOf[property.countType!];
          if (corners > 3) {
            this.#pairs[pairs++] = n / 3;
            this.#pairs[pairs++] = corners;
          }
          for (let k = 0; k < corners; k++, from += sizeOf[property.type]) {
            const v = readScalar(view, from, property.type, little);
            if (!(v >= 0 && v < points && v === Math.floor(v))) throw this.#contents.badIndex(v, element, row);
            if (k > 2) {
              scratch[n] = scratch[n - 3 * (k - 2)];
              scratch[n + 1] = scratch[n - 1];
              n += 2;
            }
            scratch[n++] = v;
          }
        }
      }
      if (end < 0) break;
      i = end;
      row++;
    }
    flush();
    table.rows = row;
    return i;
  }

  #readStrips(window: ByteWindow, at: number, have: number, table: Table): number {
    const { element, list } = table;
    const { points, triangles } = this.#contents;
    const property = element.properties[list];
    const offsets = new Float64Array(element.properties.length + 1);
    let i = at;
    while (table.rows < element.count) {
      const end = walk(window.view, i, have, element, this.#little, offsets);
      if (end < 0) break;
      const start = offsets[list];
      const n = readScalar(window.view, start, property.countType!, this.#little);
      const corners = new Float64Array(Math.max(n, 0));
      for (let k = 0; k < n; k++) {
        const from = start + sizeOf[property.countType!] + k * sizeOf[property.type];
        const v = readScalar(window.view, from, property.type, this.#little);
        if (!(v >= -1 && v < points && v === Math.floor(v))) throw this.#contents.badIndex(v, element, table.rows);
        corners[k] = v;
      }
      triangles.append(this.#scratch.subarray(0, cutStrip(corners, n, this.#scratch, 0)));
      i = end;
      table.rows++;
    }
    return i;
  }

  #readRaggedVertices(window: ByteWindow, at: number, have: number, table: Table): number {
    const { element } = table;
    const width = element.properties.length;
    const offsets = new Float64Array(width + 1);
    const starts: number[] = [];
    let i = at;
    let rows = 0;
    while (table.rows + rows < element.count) {
      const end = walk(window.view, i, have, element, this.#little, offsets);
      if (end < 0) break;
      for (let p = 0; p < width; p++) starts.push(offsets[p]);
      i = end;
      rows++;
    }
    this.#takeVertices(element, rows, (properties, into, first) => {
      properties.forEach((property, k) => {
        const { type } = element.properties[property];
        for (let r = 0; r < rows; r++) {
          into[first + 3 * r + k] = readScalar(window.view, starts[r * width + property], type, this.#little);
        }
      });
    });
    table.rows += rows;
    return i;
  }

  #skip(window: ByteWindow, at: number, have: number, table: Table): number {
    const offsets = new Float64Array(table.element.properties.length + 1);
    let i = at;
    while (table.rows < table.element.count) {
      const end = walk(window.view, i, have, table.element, this.#little, offsets);
      if (end < 0) break;
      i = end;
      table.rows++;
    }
    return i;
  }
}

/**
 * Finds where each property of the row at `at` starts; -1 from the first one on that is not in the first `have` bytes. Gives the
 * place behind the row, or -1 if it is not all there.
 */
function walk(
  view: DataView,
  at: number,
  have: number,
  element: PlyElement,
  little: boolean,
  offsets: Float64Array,
): number {
  let i = at;
  offsets.fill(-1);
  for (let p = 0; p < element.properties.length; p++) {
    const { type, countType } = element.properties[p];
    if (countType === undefined) {
      if (i + sizeOf[type] > have) return -1;
      offsets[p] = i;
      i += sizeOf[type];
    } else {
      if (i + sizeOf[countType] > have) return -1;
      offsets[p] = i;
      i += sizeOf[countType] + Math.max(readScalar(view, i, countType, little), 0) * sizeOf[type];
    }
  }
  return i > have ? -1 : i;
}

function readScalar(view: DataView, at: number, type: Scalar, little: boolean): number {
  switch (type) {
    case 'int8':
      return view.getInt8(at);
    case 'uint8':
      return view.getUint8(at);
    case 'int16':
      return view.getInt16(at, little);
    case 'uint16':
      return view.getUint16(at, little);
    case 'int32':
      return view.getInt32(at, little);
    case 'uint32':
      return view.getUint32(at, little);
    case 'float32':
      return view.getFloat32(at, little);
    case 'float64':
      return view.getFloat64(at, little);
  }
}

/**
 * Reads up to `most` faces of three corners, a count of one byte and indices of four, into `into` from `n` on, as far as all
 * three name vertices; gives how many.
 */
function takeTriangles(
  bytes: Uint8Array,
  view: DataView,
  at: number,
  most: number,
  points: number,
  into: Uint32Array,
  n: number,
): number {
  const end = at + 13 * most;
  let to = n;
  for (let i = at; i < end; i += 13, to += 3) {
    if (bytes[i] !== 3) return (i - at) / 13;
    const a = view.getUint32(i + 1, true);
    const b = view.getUint32(i + 5, true);
    const c = view.getUint32(i + 9, true);
    if (a >= points || b >= points || c >= points) return (i - at) / 13;
    into[to] = a;
    into[to + 1] = b;
    into[to + 2] = c;
  }
  return most;
}

/** Copies three properties of `rows` rows, at `places` in a row, into `into` from `first` on. */
function copyTriples(
  view: DataView,
  start: number,
  stride: number,
  rows: number,
  places: readonly number[],
  types: readonly Scalar[],
  little: boolean,
  into: Float64Array | Float32Array,
  first: number,
): void {
  const [a, b, c] = places;
  const end = start + rows * stride;
  const [type] = types;
  const isCommon = little && types.every((t) => t === type);
  let to = first;
  // Little-endian floats, in all scanners' files: no switch over types.
  if (isCommon && type === 'float32') {
    for (let i = start; i < end; i += stride, to += 3) {
      into[to] = view.getFloat32(i + a, true);
      into[to + 1] = view.getFloat32(i + b, true);
      into[to + 2] = view.getFloat32(i + c, true);
    }
  } else if (isCommon && type === 'float64') {
    for (let i = start; i < end; i += stride, to += 3) {
      into[to] = view.getFloat64(i + a, true);
      into[to + 1] = view.getFloat64(i + b, true);
      into[to + 2] = view.getFloat64(i + c, true);
    }
  } else {
    for (let i = start; i < end; i += stride, to += 3) {
      into[to] = readScalar(view, i + a, types[0], little);
      into[to + 1] = readScalar(view, i + b, types[1], little);
      into[to + 2] = readScalar(view, i + c, types[2], little);
    }
  }
}
