const encoder = new TextEncoder();

type Piece = string | Uint8Array;

/** A file from pieces of text and bytes. */
export function file(...pieces: readonly Piece[]): Uint8Array {
  const parts = pieces.map((piece) => (typeof piece === 'string' ? encoder.encode(piece) : piece));
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

const kinds = {
  int8: [1, 'setInt8'],
  uint8: [1, 'setUint8'],
  int16: [2, 'setInt16'],
  uint16: [2, 'setUint16'],
  int32: [4, 'setInt32'],
  uint32: [4, 'setUint32'],
  float32: [4, 'setFloat32'],
  float64: [8, 'setFloat64'],
} as const;

export type Kind = keyof typeof kinds;

/** Numbers as bytes, little-endian unless told otherwise. */
export function numbers(kind: Kind, values: readonly number[], little = true): Uint8Array {
  const [size, set] = kinds[kind];
  const bytes = new Uint8Array(size * values.length);
  const view = new DataView(bytes.buffer);
  values.forEach((value, i) => {
    view[set](i * size, value, little);
  });
  return bytes;
}

/** A binary STL: nine coordinates a facet, normals zero. */
export function stl(facets: readonly (readonly number[])[], count = facets.length, header = ''): Uint8Array {
  const head = new Uint8Array(80);
  encoder.encodeInto(header, head);
  const body = facets.map((corners) => file(new Uint8Array(12), numbers('float32', corners), new Uint8Array(2)));
  return file(head, numbers('uint32', [count]), ...body);
}

/** The bytes as a stream of pieces of `size`. */
export async function* inPieces(bytes: Uint8Array, size: number): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.slice(at, at + size);
}
