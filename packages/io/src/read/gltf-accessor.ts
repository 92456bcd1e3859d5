import { countText } from '../text/number-text.js';
import type { GltfBuffers } from './gltf-buffers.js';
import { type Complain, entryOf, type Fields, shown, wholeOf } from './gltf-fields.js';

interface Component {
  readonly size: number;
  /** Largest value, which a normalized integer is divided by. */
  readonly most: number;
  read(view: DataView, at: number): number;
}

/** Component types of the standard, section 3.6.2.2. */
const components: ReadonlyMap<unknown, Component> = new Map<number, Component>([
  [5120, { size: 1, most: 127, read: (view, at) => view.getInt8(at) }],
  [5121, { size: 1, most: 255, read: (view, at) => view.getUint8(at) }],
  [5122, { size: 2, most: 32767, read: (view, at) => view.getInt16(at, true) }],
  [5123, { size: 2, most: 65535, read: (view, at) => view.getUint16(at, true) }],
  [5125, { size: 4, most: 4294967295, read: (view, at) => view.getUint32(at, true) }],
  [5126, { size: 4, most: 1, read: (view, at) => view.getFloat32(at, true) }],
]);

/** Types of indices and joints: whole numbers without a sign. */
export const unsigned: ReadonlySet<unknown> = new Set([5121, 5123, 5125]);
/** Types of positions, normals, weights and colors; smaller ones by KHR_mesh_quantization. */
export const measured: ReadonlySet<unknown> = new Set([5120, 5121, 5122, 5123, 5126]);

const widths: ReadonlyMap<unknown, number> = new Map([
  ['SCALAR', 1],
  ['VEC2', 2],
  ['VEC3', 3],
  ['VEC4', 4],
  ['MAT4', 16],
]);

/** Bytes of zeros that an accessor may ask for without having them in the file. */
const MOST_ZEROS = 1 << 26;

/** Where values lie, all of them inside the file. */
interface Extent {
  readonly view: DataView;
  readonly from: number;
  readonly stride: number;
}

/** An accessor of the document, checked. */
export interface Accessor {
  readonly count: number;
  /** Values an element. */
  readonly width: number;
  readonly component: Component;
  /** The number that the standard has for the type of a component. */
  readonly componentType: unknown;
  readonly isNormalized: boolean;
  /** Absent where all but the sparse values are zero. */
  readonly extent?: Extent;
  /** Elements that stand instead of those of the extent. */
  readonly sparse?: { readonly places: Accessor; readonly values: Accessor };
}

/** Finds an accessor and holds its extent against its view's and the view's against its buffer's. */
export function accessorOf(document: Fields, index: unknown, buffers: GltfBuffers, complain: Complain): Accessor {
  const fields = entryOf(document, 'accessors', index, complain);
  const which = `accessor ${shown(index)}`;
  const { componentType } = fields;
  const component = components.get(componentType);
  const width = widths.get(fields.type);
  if (component === undefined || width === undefined) return complain(`${which} is of no type the standard has`);
  const count = wholeOf(fields, 'count', undefined, complain);
  const plain = { count, width, component, componentType, isNormalized: fields.normalized === true };
  if (fields.sparse === undefined && fields.bufferView === undefined) complain(`${which} has no data`);
  if (fields.bufferView === undefined && count * width * 8 > MOST_ZEROS)
    complain(`${which} asks for ${countText(count)} elements of zeros`, 'too-large');
  const extent =
    fields.bufferView === undefined ? {} : { extent: extentOf(document, fields, plain, which, buffers, complain) };
  const sparse =
    fields.sparse === undefined ? {} : { sparse: sparseOf(document, fields.sparse, plain, which, buffers, complain) };
  return { ...plain, ...extent, ...sparse };
}

function extentOf(
  document: Fields,
  fields: Fields,
  { count, width, component }: Pick<Accessor, 'count' | 'width' | 'component'>,
  which: string,
  buffers: GltfBuffers,
  complain: Complain,
): Extent {
  const bufferView = entryOf(document, 'bufferViews', fields.bufferView, complain);
  const view = buffers.view(bufferView.buffer);
  const start = wholeOf(bufferView, 'byteOffset', 0, complain);
  const length = wholeOf(bufferView, 'byteLength', undefined, complain);
  const offset = wholeOf(fields, 'byteOffset', 0, complain);
  const size = width * component.size;
  const stride = wholeOf(bufferView, 'byteStride', size, complain);
  const needs = count === 0 ? 0 : offset + (count - 1) * stride + size;
  if (stride < size || needs > length || start + length > view.byteLength) {
    complain(
      `${which} of ${countText(count)} reaches beyond its ${countText(length)} bytes of ${countText(view.byteLength)}`,
    );
  }
  return { view, from: start + offset, stride };
}

/** Section 3.6.2.3: the elements at some places stand elsewhere. */
function sparseOf(
  document: Fields,
  value: unknown,
  whole: Omit<Accessor, 'extent' | 'sparse'>,
  which: string,
  buffers: GltfBuffers,
  complain: Complain,
): NonNullable<Accessor['sparse']> {
  const fields = Object(value) as Fields;
  const count = wholeOf(fields, 'count', undefined, complain);
  const indices = Object(fields.indices) as Fields;
  const component = components.get(indices.componentType);
  if (component === undefined || !unsigned.has(indices.componentType))
    return complain(`the places of sparse ${which} are of no unsigned type`);
  const places = { count, width: 1, component, componentType: indices.componentType, isNormalized: false };
  const values = { ...whole, count };
  return {
    places: { ...places, extent: extentOf(document, indices, places, which, buffers, complain) },
    values: {
      ...values,
      extent: extentOf(document, Object(fields.values) as Fields, values, which, buffers, complain),
    },
  };
}

/** All values, element after element. */
export function valuesOf(accessor: Accessor, complain: Complain): Float64Array {
  const { count, width, component, isNormalized, sparse } = accessor;
  const values = storedValues(accessor);
  if (sparse !== undefined) {
    const stored = storedValues(sparse.values);
    storedValues(sparse.places).forEach((place, i) => {
      if (place >= count) complain(`a sparse accessor names element ${countText(place)} of ${countText(count)}`);
      values.set(stored.subarray(i * width, (i + 1) * width), place * width);
    });
  }
  // Section 3.11: the least of a signed type lies a step below −1.
  if (isNormalized) for (let i = 0; i < values.length; i++) values[i] = Math.max(values[i] / component.most, -1);
  return values;
}

function storedValues({ count, width, component, extent }: Accessor): Float64Array {
  const values = new Float64Array(count * width);
  if (extent === undefined) return values;
  const { view, from, stride } = extent;
  for (let i = 0, to = 0, at = from; i < count; i++, at += stride) {
    for (let k = 0; k < width; k++) values[to++] = component.read(view, at + k * component.size);
  }
  return values;
}
