import { BufferAttribute, BufferGeometry, type GLBufferAttribute } from 'three';
import { expect, test } from 'vitest';
import { Backlog } from '../../packages/viewer/src/scene/backlog.js';
import { Upload } from '../../packages/viewer/src/scene/upload.js';

// Constants as in the WebGL 2 specification (Khronos), from memory.
const GL = {
  FLOAT: 0x1406,
  UNSIGNED_INT: 0x1405,
  BYTE: 0x1400,
  UNSIGNED_BYTE: 0x1401,
  STATIC_DRAW: 0x88e4,
  ELEMENT_ARRAY_BUFFER: 0x8893,
  COPY_WRITE_BUFFER: 0x8f37,
  VERTEX_ARRAY_BINDING: 0x85b5,
  SYNC_GPU_COMMANDS_COMPLETE: 0x9117,
  SYNC_STATUS: 0x9114,
  UNSIGNALED: 0x9118,
  SIGNALED: 0x9119,
} as const;

/** What is brought at a time, bytes. */
const PIECE = 2 * 2 ** 20;

type Bytes = { bytes?: Uint8Array; kind?: number };

/** A card that keeps what it is given, and refuses as WebGL does to make an index of what was another buffer, or the reverse. */
function card() {
  const bound = new Map<number, Bytes | null>();
  const pieces: number[] = [];
  let vertexArray: object | null = { name: 'of three' };
  const state = { isBusy: false, isLost: false, flushed: 0 };
  const gl = {
    ...GL,
    createBuffer: (): Bytes => ({}),
    bindBuffer(target: number, buffer: Bytes | null) {
      if (target === GL.ELEMENT_ARRAY_BUFFER) expect(vertexArray).toBe(null);
      if (buffer) buffer.kind ??= target;
      if (buffer && target === GL.ELEMENT_ARRAY_BUFFER) expect(buffer.kind).toBe(target);
      bound.set(target, buffer);
    },
    bufferData(target: number, size: number) {
      bound.get(target)!.bytes = new Uint8Array(size);
    },
    bufferSubData(target: number, at: number, array: Uint8Array, from: number, count: number) {
      const size = array.BYTES_PER_ELEMENT;
      const part = new Uint8Array(array.buffer, array.byteOffset + from * size, count * size);
      bound.get(target)!.bytes!.set(part, at);
      pieces.push(part.length);
    },
    bindVertexArray(array: object | null) {
      vertexArray = array;
    },
    getParameter: () => vertexArray,
    fenceSync: () => (state.isLost ? null : {}),
    deleteSync() {},
    flush() {
      state.flushed++;
    },
    getSyncParameter: () => (state.isLost ? null : state.isBusy ? GL.UNSIGNALED : GL.SIGNALED),
  };
  return { gl: gl as unknown as WebGL2RenderingContext, pieces, state, vertexArray: () => vertexArray };
}

const bytesOf = (array: Float32Array | Uint32Array | Int8Array | Uint8Array): Uint8Array =>
  new Uint8Array(array.buffer, array.byteOffset, array.byteLength);

test('large arrays come to the card whole, no more than 2 MB at a time, and the geometry then draws from there', () => {
  const geometry = new BufferGeometry();
  const positions = Float32Array.from({ length: 3 * 500_000 }, (_, i) => i / 7);
  const normals = Int8Array.from({ length: 3 * 500_000 }, (_, i) => (i % 255) - 127);
  const triangles = Uint32Array.from({ length: 3 * 1_000_000 }, (_, i) => (i * 31) % 500_000);
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  geometry.setAttribute('normal', new BufferAttribute(normals, 3, true));
  geometry.setAttribute('mark', new BufferAttribute(new Uint8Array(500_000), 1));
  geometry.setIndex(new BufferAttribute(triangles, 1));
  let done = 0;
  const upload = new Upload(geometry, () => {
    done++;
  });
  const { gl, pieces, vertexArray } = card();
  const before = vertexArray();
  let turns = 1;
  while (!upload.go(gl)) {
    expect(done).toBe(0);
    expect(geometry.getAttribute('position').array).toBe(positions);
    turns++;
  }
  expect(done).toBe(1);
  // 6 MB, 1.5 MB and 12 MB.
  expect(turns).toBeGreaterThanOrEqual(10);
  expect(Math.max(...pieces)).toBeLessThanOrEqual(PIECE);
  expect(vertexArray()).toBe(before);
  const onCard = (attribute: unknown) => {
    const { buffer, type, itemSize, elementSize, count, normalized } = attribute as GLBufferAttribute;
    return { bytes: (buffer as Bytes).bytes!, like: { type, itemSize, elementSize, count, normalized } };
  };
  const position = onCard(geometry.getAttribute('position'));
  expect(position.like).toEqual({ type: GL.FLOAT, itemSize: 3, elementSize: 4, count: 500_000, normalized: false });
  expect(Buffer.compare(position.bytes, bytesOf(positions))).toBe(0);
  const normal = onCard(geometry.getAttribute('normal'));
  expect(normal.like).toEqual({ type: GL.BYTE, itemSize: 3, elementSize: 1, count: 500_000, normalized: true });
  expect(Buffer.compare(normal.bytes, bytesOf(normals))).toBe(0);
  const index = onCard(geometry.index);
  expect(index.like).toMatchObject({ type: GL.UNSIGNED_INT, elementSize: 4, count: 3_000_000 });
  expect(Buffer.compare(index.bytes, bytesOf(triangles))).toBe(0);
  // Marks change: three goes on bringing them.
  expect(geometry.getAttribute('mark').array).toHaveLength(500_000);
});

test.each([0, 1, 2, 3])(
  'with room for %i bytes left in a piece after the attributes the index still comes whole',
  (room) => {
    const points = 200_000;
    const geometry = new BufferGeometry();
    const paint = new Uint8Array(2 * PIECE - room - 15 * points).fill(7);
    const triangles = Uint32Array.from({ length: 3 * 1000 }, (_, i) => (i * 31) % points);
    geometry.setAttribute('position', new BufferAttribute(new Float32Array(3 * points).fill(1), 3));
    geometry.setAttribute('normal', new BufferAttribute(new Int8Array(3 * points).fill(1), 3, true));
    geometry.setAttribute('paint', new BufferAttribute(paint, 1, true));
    geometry.setIndex(new BufferAttribute(triangles, 1));
    const upload = new Upload(geometry, () => {});
    const { gl } = card();
    while (!upload.go(gl));
    const index = (geometry.index as unknown as GLBufferAttribute).buffer as Bytes;
    expect(Buffer.compare(index.bytes!, bytesOf(triangles))).toBe(0);
  },
);

test('a card has work until it says it has none, and one that went away has none', () => {
  const { gl, state } = card();
  const backlog = new Backlog(gl);
  expect(backlog.isDone()).toBe(true);
  state.isBusy = true;
  backlog.mark();
  expect(state.flushed).toBe(1);
  expect(backlog.isDone()).toBe(false);
  state.isBusy = false;
  expect(backlog.isDone()).toBe(true);
  state.isBusy = true;
  backlog.mark();
  state.isLost = true;
  expect(backlog.isDone()).toBe(true);
  backlog.mark();
  expect(backlog.isDone()).toBe(true);
});
