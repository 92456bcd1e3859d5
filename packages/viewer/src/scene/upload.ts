import { type BufferAttribute, type BufferGeometry, GLBufferAttribute } from 'three';

/** Bytes at a time. */
const PIECE = 2 * 2 ** 20;

type Bulk = Float32Array | Uint32Array | Int8Array | Uint8Array;

interface Part {
  readonly attribute: BufferAttribute;
  readonly array: Bulk;
  put(onCard: GLBufferAttribute): void;
  readonly isIndex: boolean;
  buffer?: WebGLBuffer;
  /** Bytes that are on the card. */
  filled: number;
}

/**
 * Brings what does not change of a geometry to the graphics card piece by piece: all of a million triangles at once takes the page so
 * long that it is felt.
 */
export class Upload {
  readonly #parts: Part[];
  readonly #done: () => void;

  /** @param done is called once all is there, and the geometry draws from the card */
  constructor(geometry: BufferGeometry, done: () => void) {
    this.#done = done;
    const still = ['position', 'normal', 'paint'].filter((name) => geometry.hasAttribute(name));
    // three takes such attributes, and such an index; its types do not say so.
    const asAttribute = (onCard: GLBufferAttribute) => onCard as unknown as BufferAttribute;
    this.#parts = still.map((name) =>
      part(geometry.getAttribute(name) as BufferAttribute, (onCard) =>
        geometry.setAttribute(name, asAttribute(onCard)),
      ),
    );
    if (geometry.index)
      this.#parts.push(part(geometry.index, (onCard) => geometry.setIndex(asAttribute(onCard)), true));
  }

  /** The next piece. @returns whether it was the last */
  go(gl: WebGL2RenderingContext): boolean {
    let left = PIECE;
    for (const one of this.#parts) {
      left -= fill(gl, one, left);
      // What is left of a piece may be less than one number takes.
      if (one.filled < one.array.byteLength) return false;
    }
    for (const { attribute, array, buffer, put } of this.#parts) {
      const size = array.BYTES_PER_ELEMENT as 1 | 4;
      put(
        new GLBufferAttribute(
          buffer!,
          typeOf(gl, array),
          attribute.itemSize,
          size,
          attribute.count,
          attribute.normalized,
        ),
      );
    }
    this.#done();
    return true;
  }
}

const part = (attribute: BufferAttribute, put: Part['put'], isIndex = false): Part => ({
  attribute,
  array: attribute.array as Bulk,
  put,
  isIndex,
  filled: 0,
});

/** @returns how many bytes it brought, no more than `most` */
function fill(gl: WebGL2RenderingContext, one: Part, most: number): number {
  const { array } = one;
  // This target leaves alone what three has bound.
  const target = gl.COPY_WRITE_BUFFER;
  if (one.buffer === undefined) {
    one.buffer = gl.createBuffer();
    if (one.isIndex) becomeIndex(gl, one.buffer);
    gl.bindBuffer(target, one.buffer);
    gl.bufferData(target, array.byteLength, gl.STATIC_DRAW);
  }
  const size = array.BYTES_PER_ELEMENT;
  const count = Math.min(Math.floor(most / size), (array.byteLength - one.filled) / size);
  if (count > 0) {
    gl.bindBuffer(target, one.buffer);
    gl.bufferSubData(target, one.filled, array, one.filled / size, count);
    gl.bindBuffer(target, null);
  }
  one.filled += count * size;
  return count * size;
}

/** What is an index is one from the first time it is bound; that is of the vertex array that is bound then, here of none. */
function becomeIndex(gl: WebGL2RenderingContext, buffer: WebGLBuffer): void {
  const bound = gl.getParameter(gl.VERTEX_ARRAY_BINDING) as WebGLVertexArrayObject | null;
  gl.bindVertexArray(null);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, null);
  gl.bindVertexArray(bound);
}

function typeOf(gl: WebGL2RenderingContext, array: Bulk): GLenum {
  if (array instanceof Float32Array) return gl.FLOAT;
  if (array instanceof Uint32Array) return gl.UNSIGNED_INT;
  return array instanceof Int8Array ? gl.BYTE : gl.UNSIGNED_BYTE;
}
