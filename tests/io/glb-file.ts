import { file, type Kind, numbers } from './bytes.js';

/** A glTF binary from its description and its data. */
export function glb(document: object, data: Uint8Array = new Uint8Array(0)): Uint8Array {
  const json = file(JSON.stringify(document));
  const text = file(json, ' '.repeat((4 - (json.length % 4)) % 4));
  const body = file(data, new Uint8Array((4 - (data.length % 4)) % 4));
  return file(
    'glTF',
    numbers('uint32', [2, 12 + 8 + text.length + 8 + body.length]),
    numbers('uint32', [text.length, 0x4e4f534a]),
    text,
    numbers('uint32', [body.length, 0x004e4942]),
    body,
  );
}

const codes: Partial<Record<Kind, number>> = {
  int8: 5120,
  uint8: 5121,
  int16: 5122,
  uint16: 5123,
  uint32: 5125,
  float32: 5126,
};

export interface Column {
  readonly kind: Kind;
  readonly type: 'SCALAR' | 'VEC2' | 'VEC3' | 'VEC4' | 'MAT4';
  readonly values: readonly number[];
  readonly normalized?: boolean;
}
const width = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4, MAT4: 16 };

/** Accessors, views and data of columns, an accessor each. */
export function columns(all: readonly Column[]) {
  const parts: Uint8Array[] = [];
  let at = 0;
  const bufferViews = all.map(({ kind, values }) => {
    const bytes = numbers(kind, values);
    const padded = file(bytes, new Uint8Array((4 - (bytes.length % 4)) % 4));
    const view = { buffer: 0, byteOffset: at, byteLength: bytes.length };
    at += padded.length;
    parts.push(padded);
    return view;
  });
  const accessors = all.map(({ kind, type, values, normalized }, i) => ({
    bufferView: i,
    componentType: codes[kind],
    type,
    count: values.length / width[type],
    ...(normalized && { normalized }),
    ...(type === 'VEC3' && { min: [-1e3, -1e3, -1e3], max: [1e3, 1e3, 1e3] }),
  }));
  return {
    data: file(...parts),
    document: { asset: { version: '2.0' }, buffers: [{ byteLength: at }], bufferViews, accessors },
  };
}

export const square: Column = {
  kind: 'float32',
  type: 'VEC3',
  values: [0, 0, 0, 0.25, 0, 0, 0.25, 0.125, 0, 0, 0.125, 0.5],
};
export const order: Column = { kind: 'uint16', type: 'SCALAR', values: [0, 1, 2, 0, 2, 3] };
export const normals: Column = { kind: 'float32', type: 'VEC3', values: [0, 0, 1, 0, 0.6, 0.8, 1, 0, 0, 0, 1, 0] };
export const colors: Column = {
  kind: 'float32',
  type: 'VEC4',
  values: [0, 0.5, 1, 1, 0.25, 0, 0, 1, 0, 0, 0, 1, 1, 1, 1, 1],
};

export function scene(all: readonly Column[], primitive: object, node: object = {}, more: object = {}): Uint8Array {
  const { data, document } = columns(all);
  return glb(
    {
      ...document,
      meshes: [{ primitives: [primitive] }],
      nodes: [{ mesh: 0, ...node }],
      scenes: [{ nodes: [0] }],
      scene: 0,
      ...more,
    },
    data,
  );
}
