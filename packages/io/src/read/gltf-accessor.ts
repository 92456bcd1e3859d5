import { countText } from '../report/number-text.js';

/** An object of the document whose fields may be anything: it comes from a file. */
export type Fields = Readonly<Record<string, unknown>>;

interface Component {
  readonly size: number;
  /** Largest value, which a normalized integer is divided by. */
  readonly most: number;
  read(view: DataView, at: number): number;
}

/** Component types of the standard, section 3.6.2.2. */
const components: Readonly<Record<number, Component>> = {
  5120: { size: 1, most: 127, read: (view, at) => view.getInt8(at) },
  5121: { size: 1, most: 255, read: (view, at) => view.getUint8(at) },
  5122: { size: 2, most: 32767, read: (view, at) => view.getInt16(at, true) },
  5123: { size: 2, most: 65535, read: (view, at) => view.getUint16(at, true) },
  5125: { size: 4, most: 4294967295, read: (view, at) => view.getUint32(at, true) },
  5126: { size: 4, most: 1, read: (view, at) => view.getFloat32(at, true) },
};

const widths: Readonly<Record<string, number>> = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4 };

/** Where an accessor's values lie, all of them inside the file. */
export interface Accessor {
  readonly count: number;
  /** Values an element. */
  readonly width: number;
  readonly component: Component;
  readonly isNormalized: boolean;
  readonly from: number;
  readonly stride: number;
}

/** Throws what is wrong with the document, in words. */
export type Complain = (what: string, code?: string) => never;

/** The entry of a list of the document, by an index that the document gives. */
export function entryOf(document: Fields, list: string, index: unknown, complain: Complain): Fields {
  const entries = document[list];
  const entry = Array.isArray(entries) && Number.isInteger(index) ? (entries as unknown[])[index as number] : undefined;
  if (typeof entry !== 'object' || entry === null)
    complain(`it names ${list} ${String(index).slice(0, 20)}, which it does not have`);
  return entry as Fields;
}

/** A whole number of the document that is not negative; `otherwise` where it has none. */
export function wholeOf(fields: Fields, name: string, otherwise: number | undefined, complain: Complain): number {
  const value = fields[name] ?? otherwise;
  if (!Number.isSafeInteger(value) || (value as number) < 0) complain(`'${name}' is no whole number`);
  return value as number;
}

/** Finds an accessor and holds its extent against its view's and the view's against the binary chunk's. */
export function accessorOf(document: Fields, index: unknown, binary: DataView, complain: Complain): Accessor {
  const accessor = entryOf(document, 'accessors', index, complain);
  const which = `accessor ${String(index)}`;
  if (accessor.sparse !== undefined) complain(`${which} is sparse, which is not read`, 'not-read');
  if (accessor.bufferView === undefined) complain(`${which} has no data`);
  const view = entryOf(document, 'bufferViews', accessor.bufferView, complain);
  const buffer = entryOf(document, 'buffers', view.buffer, complain);
  if (view.buffer !== 0 || buffer.uri !== undefined)
    complain('its data stand in another file; a glTF binary holds its own', 'not-read');
  const component = components[accessor.componentType as number];
  const width = widths[accessor.type as string];
  if (component === undefined || width === undefined) complain(`${which} is of no type the standard has`);
  const count = wholeOf(accessor, 'count', undefined, complain);
  const start = wholeOf(view, 'byteOffset', 0, complain);
  const length = wholeOf(view, 'byteLength', undefined, complain);
  const offset = wholeOf(accessor, 'byteOffset', 0, complain);
  const size = width * component.size;
  const stride = wholeOf(view, 'byteStride', size, complain);
  const needs = count === 0 ? 0 : offset + (count - 1) * stride + size;
  if (stride < size || needs > length || start + length > binary.byteLength) {
    complain(
      `${which} of ${countText(count)} reaches beyond its ${countText(length)} bytes of ${countText(binary.byteLength)}`,
    );
  }
  return { count, width, component, isNormalized: accessor.normalized === true, from: start + offset, stride };
}

/** All values, element after element. */
export function valuesOf(accessor: Accessor, binary: DataView): Float64Array {
  const { count, width, component, isNormalized, from, stride } = accessor;
  const values = new Float64Array(count * width);
  for (let i = 0, to = 0, at = from; i < count; i++, at += stride) {
    for (let k = 0; k < width; k++) values[to++] = component.read(binary, at + k * component.size);
  }
  // Section 3.11: the least of a signed type lies a step below −1.
  if (isNormalized) for (let i = 0; i < values.length; i++) values[i] = Math.max(values[i] / component.most, -1);
  return values;
}
