import { Column } from './column.js';
import type { PcdField, PcdHeader } from './pcd-header.js';
import type { FileContents } from './reader.js';
import { refusal } from './refusal.js';

/** Gives the value of a field of point `row` among those at hand. */
export type ValueAt = (field: PcdField, row: number) => number;

/** Three fields by the first of the names that are there. */
const three = (fields: readonly PcdField[], names: readonly string[]): readonly PcdField[] | undefined => {
  const found = names.map((name) => fields.find((field) => field.name.toLowerCase() === name && field.count === 1));
  return found.every((field) => field !== undefined) ? (found as PcdField[]) : undefined;
};

/** The points, normals and colors of a PCD file as they come. Errors: `no-coordinates`. */
export class PcdColumns {
  readonly #positions = new Column(Float64Array);
  readonly #normals = new Column(Float32Array);
  readonly #colors = new Column(Uint8Array);
  readonly #position: readonly PcdField[];
  readonly #normal: readonly PcdField[] | undefined;
  /** A number of four bytes whose lower three are red, green and blue. */
  readonly #color: PcdField | undefined;
  readonly #bits = new DataView(new ArrayBuffer(4));

  constructor({ fields }: PcdHeader, name: string) {
    const position = three(fields, ['x', 'y', 'z']);
    if (position === undefined) {
      const names = fields.map((field) => field.name).join(', ');
      throw refusal(
        name,
        'no-coordinates',
        `its points have no fields x, y and z, only: ${names.slice(0, 200)}. Export it again with coordinates.`,
      );
    }
    this.#position = position;
    this.#normal = three(fields, ['normal_x', 'normal_y', 'normal_z']);
    this.#color = fields.find(({ name: n, size, count }) => /^rgba?$/.test(n) && size === 4 && count === 1);
  }

  /** Takes `rows` points. */
  take(rows: number, valueAt: ValueAt): void {
    if (rows === 0) return;
    for (const [column, fields] of [
      [this.#positions, this.#position],
      [this.#normals, this.#normal],
    ] as const) {
      if (fields === undefined) continue;
      const { into, at } = column.room(3 * rows);
      for (const [k, field] of fields.entries())
        for (let r = 0; r < rows; r++) into[at + 3 * r + k] = valueAt(field, r);
    }
    if (this.#color === undefined) return;
    const { into, at } = this.#colors.room(3 * rows);
    for (let r = 0; r < rows; r++) {
      const value = valueAt(this.#color, r);
      if (this.#color.type === 'F') this.#bits.setFloat32(0, value);
      else this.#bits.setUint32(0, value);
      for (let k = 0; k < 3; k++) into[at + 3 * r + k] = this.#bits.getUint8(1 + k);
    }
  }

  contents({ unit }: PcdHeader): FileContents {
    return {
      positions: this.#positions.take(),
      ...(this.#normals.length > 0 && { normals: this.#normals.take() }),
      ...(this.#colors.length > 0 && { colors: this.#colors.take() }),
      ...(unit && { unit }),
    };
  }
}

/** Reads a value of a field from binary data, little-endian. */
export function binaryValue(view: DataView, at: number, { type, size }: PcdField): number {
  if (type === 'F') return size === 4 ? view.getFloat32(at, true) : view.getFloat64(at, true);
  const isSigned = type === 'I';
  switch (size) {
    case 1:
      return isSigned ? view.getInt8(at) : view.getUint8(at);
    case 2:
      return isSigned ? view.getInt16(at, true) : view.getUint16(at, true);
    case 4:
      return isSigned ? view.getInt32(at, true) : view.getUint32(at, true);
    default:
      return Number(isSigned ? view.getBigInt64(at, true) : view.getBigUint64(at, true));
  }
}
