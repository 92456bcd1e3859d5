import { readScan } from '@fettle/io';
import { type InstancedMesh, Matrix4, type Object3D, type SkinnedMesh, Vector3 } from 'three';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { describe, expect, it } from 'vitest';
import { file, type Kind, numbers } from './bytes.js';
import { type Column, columns, glb, order, scene, square } from './glb-file.js';

/** What glTF 2.0 and EXT_mesh_gpu_instancing allow beyond a mesh at a node, beside what three's loader makes of it. */

const read = (bytes: Uint8Array) => readScan(bytes, { name: 'scan.glb' });
const primitive = { attributes: { POSITION: 0 }, indices: 1 };

async function byThree(bytes: Uint8Array): Promise<Object3D> {
  const { scene: root } = await new GLTFLoader().parseAsync(bytes.slice().buffer as ArrayBuffer, '');
  root.updateMatrixWorld(true);
  return root;
}

/** Points of our scan in meters and single precision, as three has them. */
async function ours(bytes: Uint8Array): Promise<number[]> {
  return Array.from((await read(bytes)).positions, (c) => c / 1000);
}

function close(actual: readonly number[], expected: readonly number[]): void {
  expect(actual.length).toBe(expected.length);
  for (const [i, c] of actual.entries()) expect(c).toBeCloseTo(expected[i], 5);
}

describe('indices', () => {
  it.each<readonly [Kind, readonly number[]]>([
    ['int8', [0, 1, -1]],
    ['int16', [0, 1, 2]],
    ['float32', [0, 1, 2]],
    ['float32', [0, 1, Number.NaN]],
  ])('of type %s are refused: the standard has whole numbers without a sign', async (kind, values) => {
    await expect(read(scene([square, { kind, type: 'SCALAR', values }], primitive))).rejects.toMatchObject({
      code: 'bad-model',
      message: expect.stringMatching(/indices are of type 51?\d+, which is no whole number without a sign/),
    });
  });

  it.each<Kind>(['uint8', 'uint16', 'uint32'])('of type %s are read', async (kind) => {
    expect([...(await read(scene([square, { ...order, kind }], primitive))).triangles!]).toEqual([0, 1, 2, 0, 2, 3]);
  });
});

describe('names that every object of JavaScript has', () => {
  const names = ['constructor', '__proto__', 'toString', 'hasOwnProperty'];
  it.each(names)('%s where a type or an index belongs is refused in words', async (name) => {
    const { data, document } = columns([square, order]);
    const with_ = (change: object) =>
      glb(
        {
          ...document,
          meshes: [{ primitives: [primitive] }],
          nodes: [{ mesh: 0 }],
          scenes: [{ nodes: [0] }],
          ...change,
        },
        data,
      );
    const [first, second] = document.accessors;
    for (const bytes of [
      with_({ accessors: [{ ...first, componentType: name }, second] }),
      with_({ accessors: [{ ...first, type: name }, second] }),
      with_({ accessors: [{ ...first, bufferView: name }, second] }),
      with_({ nodes: [{ mesh: name }] }),
      with_({ nodes: [{ mesh: JSON.parse(`{"${name}":1}`) }] }),
      with_({ extensionsRequired: [name] }),
      with_({ extensionsRequired: [JSON.parse(`{"${name}":1}`)] }),
    ]) {
      await expect(read(bytes)).rejects.toMatchObject({ name: 'FettleError' });
    }
  });
});

describe('sparse accessors', () => {
  const places: Column = { kind: 'uint16', type: 'SCALAR', values: [1, 3] };
  const values: Column = { kind: 'float32', type: 'VEC3', values: [7, 8, 9, -1, -2, -3] };
  const sparse = { count: 2, indices: { bufferView: 2, componentType: 5123 }, values: { bufferView: 3 } };
  const bytes = (base: object) => {
    const { data, document } = columns([square, order, places, values]);
    const accessors = [{ ...document.accessors[0], ...base, sparse }, document.accessors[1]];
    return glb(
      { ...document, accessors, meshes: [{ primitives: [primitive] }], nodes: [{ mesh: 0 }], scenes: [{ nodes: [0] }] },
      data,
    );
  };

  it.each([
    ['over values', {}],
    ['over zeros', { bufferView: undefined }],
  ])('%s', async (_, base) => {
    const root = await byThree(bytes(base));
    const found: number[] = [];
    root.traverse((thing) => {
      const position = (thing as SkinnedMesh).geometry?.getAttribute('position');
      if (position) found.push(...position.array);
    });
    close(await ours(bytes(base)), found);
  });

  it('that ask for many zeros are refused before any is made', async () => {
    await expect(read(bytes({ bufferView: undefined, count: 1e9 }))).rejects.toMatchObject({ code: 'too-large' });
  });
});

it('data may stand in the description, in base 64', async () => {
  const { data, document } = columns([square, order]);
  const uri = `data:application/octet-stream;base64,${Buffer.from(data).toString('base64')}`;
  const bytes = glb({
    ...document,
    buffers: [{ byteLength: data.length, uri }],
    meshes: [{ primitives: [primitive] }],
    nodes: [{ mesh: 0 }],
    scenes: [{ nodes: [0] }],
  });
  expect((await read(bytes)).positions).toEqual((await read(scene([square, order], primitive))).positions);
  const broken = glb({
    ...document,
    buffers: [{ byteLength: 3, uri: 'data:;base64,***' }],
    meshes: [{ primitives: [primitive] }],
  });
  await expect(read(broken)).rejects.toMatchObject({ message: expect.stringMatching(/buffer 0 is no base 64/) });
});

it('instances are placed, each by its translation, rotation and scale', async () => {
  const half = Math.SQRT1_2;
  const bytes = scene(
    [
      square,
      order,
      { kind: 'float32', type: 'VEC3', values: [10, 0, 0, 0, 20, 0] },
      { kind: 'float32', type: 'VEC4', values: [0, 0, half, half, half, 0, 0, half] },
      { kind: 'float32', type: 'VEC3', values: [1, 2, 3, 1, 1, 1] },
    ],
    primitive,
    {
      translation: [0, 0, 5],
      extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 2, ROTATION: 3, SCALE: 4 } } },
    },
    { extensionsUsed: ['EXT_mesh_gpu_instancing'], extensionsRequired: ['EXT_mesh_gpu_instancing'] },
  );
  const expected: number[] = [];
  (await byThree(bytes)).traverse((thing) => {
    const mesh = thing as InstancedMesh;
    if (!mesh.isInstancedMesh) return;
    const position = mesh.geometry.getAttribute('position');
    for (let i = 0; i < mesh.count; i++) {
      const matrix = new Matrix4();
      mesh.getMatrixAt(i, matrix);
      matrix.premultiply(mesh.matrixWorld);
      for (let v = 0; v < position.count; v++)
        expected.push(...new Vector3().fromBufferAttribute(position, v).applyMatrix4(matrix).toArray());
    }
  });
  expect(expected.length).toBe(24);
  close(await ours(bytes), expected);
});

it('a skinned mesh goes with its joints, not with its node', async () => {
  const bind = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, -2, 0, 0, 1];
  const bytes = scene(
    [
      square,
      order,
      { kind: 'uint8', type: 'VEC4', values: [0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0] },
      { kind: 'float32', type: 'VEC4', values: [1, 0, 0, 0, 0.5, 0.5, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0] },
      { kind: 'float32', type: 'MAT4', values: [...bind, ...bind] },
    ],
    { attributes: { POSITION: 0, JOINTS_0: 2, WEIGHTS_0: 3 }, indices: 1 },
    { skin: 0, translation: [100, 200, 300] },
    {
      nodes: [
        { mesh: 0, skin: 0, translation: [100, 200, 300] },
        { translation: [0, 0, 4], rotation: [0, 0, Math.SQRT1_2, Math.SQRT1_2], children: [2] },
        { translation: [0, 3, 0] },
      ],
      scenes: [{ nodes: [0, 1] }],
      skins: [{ joints: [1, 2], inverseBindMatrices: 4 }],
    },
  );
  const expected: number[] = [];
  (await byThree(bytes)).traverse((thing) => {
    const mesh = thing as SkinnedMesh;
    if (!mesh.isSkinnedMesh) return;
    const position = mesh.geometry.getAttribute('position');
    for (let v = 0; v < position.count; v++) {
      const point = new Vector3().fromBufferAttribute(position, v);
      mesh.applyBoneTransform(v, point);
      expected.push(...point.applyMatrix4(mesh.matrixWorld).toArray());
    }
  });
  expect(expected.length).toBe(12);
  // Single precision about coordinates of 300.
  for (const [i, c] of (await ours(bytes)).entries()) expect(Math.abs(c - expected[i])).toBeLessThan(1e-3);
});

it('morph targets with a weight are added', async () => {
  const target: Column = { kind: 'float32', type: 'VEC3', values: [0, 0, 1, 0, 0, 2, 0, 0, 3, 0, 0, 4] };
  const { positions } = await read(
    scene([square, order, target], { ...primitive, targets: [{ POSITION: 2 }] }, { weights: [0.5] }),
  );
  // z of the square is 0, 0, 0, 0.5 m.
  expect([2, 5, 8, 11].map((i) => positions[i])).toEqual([500, 1000, 1500, 2500]);
});

it('bytes behind are of no account', async () => {
  const bytes = scene([square, order], primitive);
  expect((await read(file(bytes, numbers('uint32', [0])))).positions.length).toBe(12);
});
