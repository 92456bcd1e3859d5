import { readScan } from '@fettle/io';
import { BufferAttribute, type BufferGeometry, Matrix3, type Mesh, Vector3 } from 'three';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { describe, expect, it } from 'vitest';
import { file, inPieces, numbers } from './bytes.js';
import { type Column, colors, columns, glb, normals, order, scene, square } from './glb-file.js';

const read = (bytes: Uint8Array) => readScan(bytes, { name: 'scan.glb' });

/** Corners of every triangle in millimeters and normals, as three's loader has them in the scene. */
async function byThree(bytes: Uint8Array): Promise<{ corners: number[]; normals: number[] }> {
  const { scene: root } = await new GLTFLoader().parseAsync(bytes.slice().buffer as ArrayBuffer, '');
  root.updateMatrixWorld(true);
  const corners: number[] = [];
  const normals: number[] = [];
  root.traverse((thing) => {
    if (!(thing as Mesh).isMesh) return;
    const geometry = (thing as Mesh).geometry as BufferGeometry;
    const position = geometry.getAttribute('position');
    const normal = geometry.getAttribute('normal');
    const index =
      geometry.index ??
      new BufferAttribute(
        Uint32Array.from({ length: position.count }, (_, i) => i),
        1,
      );
    const isMirrored = thing.matrixWorld.determinant() < 0;
    const turn = new Matrix3().getNormalMatrix(thing.matrixWorld);
    for (let i = 0; i < index.count; i++) {
      // three mirrors by turning its front faces, a scan by turning the triangle.
      const at = isMirrored && i % 3 > 0 ? i + 3 - 2 * (i % 3) : i;
      const v = index.getX(at);
      const p = new Vector3().fromBufferAttribute(position, v).applyMatrix4(thing.matrixWorld);
      corners.push(...p.toArray().map((c) => 1000 * c));
      if (normal)
        normals.push(...new Vector3().fromBufferAttribute(normal, v).applyMatrix3(turn).normalize().toArray());
    }
  });
  return { corners, normals };
}

async function ours(bytes: Uint8Array): Promise<{ corners: number[]; normals: number[] }> {
  const { positions, triangles, normals } = await read(bytes);
  const at = (values: Float64Array | Float32Array) =>
    Array.from(triangles!).flatMap((v) => [...values.subarray(3 * v, 3 * v + 3)]);
  return { corners: at(positions), normals: normals ? at(normals) : [] };
}

/** Turns every triangle so that its least corner comes first. */
function beginAtLeast(corners: number[]): void {
  for (let t = 0; t < corners.length; t += 9) {
    const three = [0, 3, 6].map((k) => corners.slice(t + k, t + k + 3));
    const keys = three.map((corner) => corner.map((c) => c.toFixed(6)).join());
    const least = keys.indexOf([...keys].sort()[0]);
    corners.splice(t, 9, ...three.slice(least).flat(), ...three.slice(0, least).flat());
  }
}

const primitive = { attributes: { POSITION: 0 }, indices: 1 };

describe('a glTF binary', () => {
  it('is in meters, as the standard says', async () => {
    const scan = await read(scene([square, order], primitive));
    expect([...scan.positions]).toEqual([0, 0, 0, 250, 0, 0, 250, 125, 0, 0, 125, 500]);
    expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 2, 3]);
    expect(scan.source).toMatchObject({ format: 'glb', encoding: 'binary', unit: 'm', unitFrom: 'file', warnings: [] });
  });

  it('may come in pieces', async () => {
    const bytes = scene([square, order], primitive);
    expect(await readScan(inPieces(bytes, 7), { name: 'scan.glb' })).toEqual(await read(bytes));
  });

  it('colors, linear in the file, come out in sRGB', async () => {
    const scan = await read(scene([square, order, colors], { attributes: { POSITION: 0, COLOR_0: 2 }, indices: 1 }));
    // IEC 61966-2-1: 0.5 is 188 of 255, 0.25 is 137.
    expect([...scan.colors!]).toEqual([0, 188, 255, 137, 0, 0, 0, 0, 0, 255, 255, 255]);
  });

  it('a cloud: points have no triangles', async () => {
    const scan = await read(scene([square], { attributes: { POSITION: 0 }, mode: 0 }));
    expect(scan.positions).toHaveLength(12);
    expect(scan.triangles).toBeUndefined();
  });

  it('lines are passed over with a warning', async () => {
    const { data, document } = columns([square, order]);
    const bytes = glb(
      { ...document, meshes: [{ primitives: [primitive, { attributes: { POSITION: 0 }, mode: 1 }] }] },
      data,
    );
    expect((await read(bytes)).source.warnings.map((w) => w.message)).toEqual([
      'scan.glb: 1 mesh of lines passed over.',
    ]);
  });
});

describe("three's loader and this reader see the same", () => {
  const withNormals = { attributes: { POSITION: 0, NORMAL: 2 }, indices: 1 };
  const bytes16: Column = {
    kind: 'int16',
    type: 'VEC3',
    values: [0, 0, 0, 32767, 0, 0, 16384, -32768, 5, 0, 9, -7],
    normalized: true,
  };
  it.each<readonly [string, Uint8Array]>([
    ['a list with indices', scene([square, order], primitive)],
    ['a list without', scene([{ ...square, values: square.values.slice(0, 9) }], { attributes: { POSITION: 0 } })],
    ['a strip', scene([square], { attributes: { POSITION: 0 }, mode: 5 })],
    ['a fan', scene([square], { attributes: { POSITION: 0 }, mode: 6 })],
    ['indices in bytes', scene([square, { ...order, kind: 'uint8' }], primitive)],
    ['indices in four bytes', scene([square, { ...order, kind: 'uint32' }], primitive)],
    ['normals', scene([square, order, normals], withNormals)],
    [
      'moved, turned and scaled',
      scene([square, order, normals], withNormals, {
        translation: [1, 2, 3],
        rotation: [0.5, 0.5, 0.5, 0.5],
        scale: [1, 2, 4],
      }),
    ],
    ['mirrored', scene([square, order, normals], withNormals, { scale: [-1, 2, 1] })],
    [
      'placed by a matrix',
      scene([square, order, normals], withNormals, { matrix: [0, 1, 0, 0, -2, 0, 0, 0, 0, 0, 1, 0, 5, 6, 7, 1] }),
    ],
    [
      'a node in a node',
      scene(
        [square, order, normals],
        withNormals,
        { scale: [2, 2, 2] },
        {
          nodes: [
            { children: [1], rotation: [0, 0, 0.6, 0.8] },
            { mesh: 0, translation: [1, 0, 0] },
          ],
        },
      ),
    ],
    [
      'quantized',
      scene(
        [bytes16, order],
        primitive,
        { scale: [3, 3, 3] },
        { extensionsRequired: ['KHR_mesh_quantization'], extensionsUsed: ['KHR_mesh_quantization'] },
      ),
    ],
  ])('%s', async (_, bytes) => {
    const [a, b] = [await ours(bytes), await byThree(bytes)];
    // Where a triangle of a strip begins is free.
    if (a.normals.length === 0) for (const { corners } of [a, b]) beginAtLeast(corners);
    expect(b.corners.length).toBeGreaterThan(0);
    expect(a.corners).toHaveLength(b.corners.length);
    // Its matrices are doubles, its vectors too; differences are of rounding.
    a.corners.forEach((c, i) => {
      expect(c).toBeCloseTo(b.corners[i], 6);
    });
    if (a.normals.length > 0) {
      a.normals.forEach((c, i) => {
        expect(c).toBeCloseTo(b.normals[i], 5);
      });
    }
  });
});

describe('a bad file is refused in words', () => {
  const good = scene([square, order], primitive);
  const changed = (change: (document: Record<string, never>) => void) => {
    const { data, document } = columns([square, order]);
    const all = {
      ...document,
      meshes: [{ primitives: [structuredClone(primitive)] }],
      nodes: [{ mesh: 0 }],
      scenes: [{ nodes: [0] }],
    };
    change(all as never);
    return glb(all, data);
  };
  const set = (...[path, value]: readonly [string, unknown]) =>
    changed((document) => {
      const steps = path.split('.');
      const last = steps.pop()!;
      let at = document as Record<string, unknown>;
      for (const step of steps) at = at[step] as Record<string, unknown>;
      at[last] = value;
    });

  it.each<readonly [string, Uint8Array, string, string]>([
    [
      'cut short',
      good.subarray(0, 500),
      'cut-short',
      `cut short: the file holds 500 bytes, its header asks for ${good.length}`,
    ],
    ['cut short at once', good.subarray(0, 15), 'cut-short', 'cut short after 15 bytes'],
    ['of version 1', file('glTF', numbers('uint32', [1, 20, 0, 0])), 'not-read', 'version 1; only 2 is read'],
    [
      'with a chunk too long',
      file('glTF', numbers('uint32', [2, 20, 999, 0x4e4f534a])),
      'bad-model',
      'a chunk of 999 bytes reaches beyond its 20',
    ],
    ['without description', file('glTF', numbers('uint32', [2, 20, 0, 7])), 'bad-model', 'it has no description'],
    [
      'that is no JSON',
      file('glTF', numbers('uint32', [2, 24, 4, 0x4e4f534a]), '{ooo'),
      'bad-model',
      'its description is no JSON',
    ],
    [
      'compressed',
      set('extensionsRequired', ['KHR_draco_mesh_compression']),
      'not-read',
      "it needs 'KHR_draco_mesh_compression', which is not read: export it without",
    ],
    [
      'with data elsewhere',
      set('buffers.0.uri', 'data.bin'),
      'not-read',
      'its data stand in another file; a glTF binary holds its own',
    ],
    ['sparse without a count', set('accessors.0.sparse', {}), 'bad-model', "'count' is no whole number"],
    [
      'of four billion points',
      set('accessors.0.count', 4e9),
      'bad-model',
      'accessor 0 of 4,000,000,000 reaches beyond its 48 bytes of 60',
    ],
    ['of half a point', set('accessors.0.count', 0.5), 'bad-model', "'count' is no whole number"],
    ['without data', set('accessors.0.bufferView', undefined), 'bad-model', 'accessor 0 has no data'],
    [
      'of an unknown type',
      set('accessors.0.componentType', 5124),
      'bad-model',
      'accessor 0 is of no type the standard has',
    ],
    ['of flat points', set('accessors.0.type', 'VEC2'), 'bad-model', 'positions should have three coordinates'],
    [
      'reaching beyond',
      set('bufferViews.0.byteOffset', 20),
      'bad-model',
      'accessor 0 of 4 reaches beyond its 48 bytes of 60',
    ],
    [
      'naming a view that is missing',
      set('accessors.0.bufferView', 9),
      'bad-model',
      'it names bufferViews 9, which it does not have',
    ],
    [
      'naming a mesh by a word',
      set('nodes.0.mesh', 'pump'),
      'bad-model',
      "it names meshes 'pump', which it does not have",
    ],
    ['a node in itself', set('nodes.0.children', [0]), 'bad-model', 'node 0 has two parents'],
    [
      'a rotation of three numbers',
      set('nodes.0.rotation', [0, 0, 1]),
      'bad-model',
      "a node's rotation should be 4 numbers",
    ],
    ['an unknown mode', set('meshes.0.primitives.0.mode', 7), 'bad-model', 'a primitive has mode 7'],
    ['without positions', set('meshes.0.primitives.0.attributes', {}), 'not-read', 'a mesh has no positions'],
    [
      'a corner beyond',
      scene([square, { ...order, values: [0, 1, 4] }], primitive),
      'index-out-of-range',
      'a triangle names vertex 4 of 4, counted from 0',
    ],
  ])('%s', async (_, bytes, code, message) => {
    await expect(read(bytes)).rejects.toMatchObject({
      name: 'FettleError',
      code,
      message: `scan.glb: a glTF binary: ${message}. Export it again.`,
    });
  });

  it('a mesh placed so often that no machine could hold it', async () => {
    const many: Column = { ...square, values: Array.from({ length: 9000 }, () => 0) };
    const bytes = scene(
      [many, order],
      primitive,
      {},
      {
        nodes: Array.from({ length: 100_000 }, () => ({ mesh: 0 })),
        scenes: [{ nodes: Array.from({ length: 100_000 }, (_, i) => i) }],
      },
    );
    await expect(read(bytes)).rejects.toMatchObject({ code: 'too-large' });
  });

  it('without points', async () => {
    await expect(read(glb({ asset: { version: '2.0' } }))).rejects.toMatchObject({ code: 'no-points' });
  });
});
