/** Memory that can be given back at once, not when garbage is next collected (ECMAScript 2024; older engines go without). */
interface ResizableBuffer extends ArrayBuffer {
  readonly resizable?: boolean;
  resize?(bytes: number): void;
}

const ResizableBuffer = ArrayBuffer as new (bytes: number, options: { maxByteLength: number }) => ResizableBuffer;

export interface ValuesType<A> {
  readonly BYTES_PER_ELEMENT: number;
  new (length: number): A;
  new (buffer: ArrayBuffer, byteOffset?: number, length?: number): A;
}

/** Fewer bytes are not worth a place of their own in the page table. */
const SMALL = 1 << 16;

/** An array for use within a reader, to be given back by {@link release}. What a caller gets is made otherwise: not everything takes these. */
export function releasable<A>(type: ValuesType<A>, length: number): A {
  const Type = type;
  const bytes = length * Type.BYTES_PER_ELEMENT;
  return bytes < SMALL ? new Type(length) : new Type(new ResizableBuffer(bytes, { maxByteLength: bytes }), 0, length);
}

/** Gives the memory of an array back; it is empty afterwards. One that was made otherwise is left to the garbage collector. */
export function release(array: ArrayBufferView): void {
  const memory = array.buffer as ResizableBuffer;
  if (memory.resizable) memory.resize?.(0);
}
