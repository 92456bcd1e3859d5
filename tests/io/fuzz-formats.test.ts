import { readdirSync, readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { FettleError, type Random, seededRandom } from '@fettle/geom';
import { planFromText, readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file } from './bytes.js';
import { damaged, names } from './damage.js';
import { columns, glb, normals, order, square } from './glb-file.js';
import { type PcdColumn, pcd } from './pcd-file.js';
import { type ZipPart, zipFile } from './zip-file.js';

/** Cases a format; FUZZ_FORMATS=100000 for a long run, `-t` for one format. */
const CASES = Number(process.env.FUZZ_FORMATS ?? 300);

const fixtures = new URL('../fixtures/', import.meta.url);
const fixture = (pattern: RegExp) =>
  readdirSync(fixtures)
    .filter((name) => pattern.test(name))
    .map((name) => new Uint8Array(readFileSync(new URL(name, fixtures))));
const one = <T>(random: Random, of: readonly T[]): T => of[random.below(of.length)]!;

/** Values that a field of JSON may have and should not. */
const odd = (random: Random): unknown =>
  one(random, [
    ...[0, 1, -1, 2, 0.5, 255, 65535, 1e9, 4294967296, 1e300, 5120, 5121, 5122, 5123, 5124, 5125, 5126],
    ...names,
    ...['SCALAR', 'VEC3', 'VEC4', 'MAT4', '', 'data:;base64,AAAA', null, true, [], {}, [[0]]],
    JSON.parse(`{"${one(random, names)}":1}`),
  ]);

/** A document with some of its fields, anywhere, put by odd values, left out or doubled. */
function oddDocument(document: unknown, random: Random): unknown {
  const places: { holder: Record<string, unknown>; key: string }[] = [];
  const copy = structuredClone(document);
  const walk = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    for (const key of Object.keys(value)) {
      places.push({ holder: value as Record<string, unknown>, key });
      walk((value as Record<string, unknown>)[key]);
    }
  };
  walk(copy);
  for (let changes = 1 + random.below(3); changes > 0; changes--) {
    const { holder, key } = one(random, places);
    const kind = random.below(6);
    if (kind === 0) delete holder[key];
    else if (kind === 1) Object.assign(holder, { [one(random, names)]: structuredClone(holder[key]) });
    else if (kind === 2) {
      const other = one(random, places);
      holder[key] = structuredClone(other.holder[other.key]);
    } else holder[key] = odd(random);
  }
  return copy;
}

const small = (kind: 'uint8' | 'float32' | 'uint16', type: 'SCALAR' | 'VEC3' | 'VEC4' | 'MAT4', values: number[]) =>
  ({ kind, type, values }) as const;
const gltf = columns([
  square,
  order,
  normals,
  small('uint8', 'VEC4', [0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]),
  small('float32', 'VEC4', [1, 0, 0, 0, 0.5, 0.5, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]),
  small('float32', 'VEC3', [1, 2, 3, 4, 5, 6]),
  small('uint16', 'SCALAR', [1, 3]),
]);
const gltfDocument = {
  ...gltf.document,
  accessors: gltf.document.accessors.map((accessor, i) =>
    i === 0
      ? {
          ...accessor,
          sparse: { count: 2, indices: { bufferView: 6, componentType: 5123 }, values: { bufferView: 5 } },
        }
      : accessor,
  ),
  extensionsRequired: ['EXT_mesh_gpu_instancing'],
  meshes: [
    {
      primitives: [
        {
          attributes: { POSITION: 0, NORMAL: 2, JOINTS_0: 3, WEIGHTS_0: 4 },
          indices: 1,
          mode: 4,
          targets: [{ POSITION: 2 }],
        },
      ],
      weights: [0.5],
    },
  ],
  skins: [{ joints: [1, 2] }],
  nodes: [
    { mesh: 0, extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 5 } } } },
    { translation: [1, 2, 3], rotation: [0, 0, 0, 1], scale: [1, 1, 2], children: [2] },
    { matrix: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1] },
    { mesh: 0, skin: 0 },
  ],
  scenes: [{ nodes: [0, 1, 3] }],
  scene: 0,
};

const model = new TextEncoder().encode(
  `<?xml version="1.0"?><model unit="inch" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" requiredextensions="p">
  <resources><object id="1"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="&#49;" y="0" z="0"/><vertex x="0" y="1" z="0.5"/></vertices>
  <triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object><object id="2"><components><component objectid="1" p:path="/3D/b.model" transform="0 1 0 -1 0 0 0 0 1 10 20 30"/></components></object>
  </resources><build><item objectid="2"/><item objectid="1"/></build></model>`,
);
const relations = file(
  '<Relationships><Relationship Target="./3D/a.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
);

/** An archive whose parts are damaged and whose directory may lie: sizes, places, entries that share bytes. */
function threeMf(random: Random): Uint8Array {
  const pick = () => model;
  const maybe = (bytes: Uint8Array) => (random.below(3) > 0 ? bytes : damaged(bytes, random, pick));
  const lie = (): Partial<ZipPart> =>
    one<Partial<ZipPart>>(random, [
      {},
      {},
      {},
      {},
      {},
      {},
      {},
      {},
      {},
      { size: random.below(2000) },
      { at: random.below(500) },
      { method: random.below(10) },
      { flags: random.below(4) },
      { isStored: true },
    ]);
  const parts = [
    { name: '_rels/.rels', content: maybe(relations), ...lie() },
    { name: '3D/a.model', content: maybe(model), ...lie() },
    { name: '3D/b.model', content: maybe(model), ...lie() },
    { name: one(random, [...names, '../x', '3D/c.model']), content: model },
  ];
  const bytes = zipFile(parts, '', random.below(8) === 0);
  return random.below(8) === 0 ? damaged(bytes, random, pick) : bytes;
}

const cloud: readonly PcdColumn[] = [
  { name: 'x', type: 'F4', values: [0, 1, 2, 3] },
  { name: 'y', type: 'F8', values: [0, 1, 0, 1] },
  { name: 'z', type: 'I2', values: [0, -1, 5, 7] },
  { name: 'rgb', type: 'U4', values: [1, 2, 3, 4] },
];
const pcds = (['ascii', 'binary', 'binary_compressed'] as const).map((data) => pcd(cloud, data));
const offs = [
  'OFF\n4 2 0\n0 0 0\n4 2 0\n0 4 0\n1 2 0\n4 0 1 2 3\n3 0 1 2 255 0 0\n',
  'CNOFF 3 1 0\n0 0 0 0 0 1 1 0 0 1\n1 0 0 0 0 1 1 0 0 1\n0 1 0 0 0 1 1 0 0 1\n3 0 1 2\n',
].map((text) => file(text));
const plan = file(
  '{"version":1,"title":"Two feet","steps":[{"step":"fit","id":"a","points":{"all":true},"shape":"plane"}]}',
);

const changed = (all: readonly Uint8Array[]) => (random: Random) =>
  damaged(one(random, all), random, () => one(random, all));

const formats: Readonly<Record<string, (random: Random) => Uint8Array>> = {
  PLY: changed(fixture(/^small-.*\.ply$/)),
  OBJ: changed(fixture(/^small-.*\.obj$/)),
  STL: changed([
    ...fixture(/^small-.*\.stl$/),
    file(
      'solid units mm\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n',
    ),
  ]),
  'lists of points': changed([...fixture(/^small-points/), file('"X [mm]";"Y [mm]";"Z [mm]"\n1;2;3\n4;5;6\n')]),
  OFF: changed(offs),
  PCD: changed(pcds),
  '3MF': threeMf,
  glTF: (random) =>
    random.below(3) === 0
      ? damaged(glb(gltfDocument, gltf.data), random, () => gltf.data)
      : glb(
          oddDocument(gltfDocument, random) as object,
          random.below(2) === 0 ? gltf.data : damaged(gltf.data, random, () => gltf.data),
        ),
  gzip: (random) => {
    const packed = new Uint8Array(gzipSync(changed([...offs, ...pcds])(random)));
    return random.below(2) === 0 ? packed : damaged(packed, random, () => packed);
  },
};

/** In pieces cut anywhere. */
async function* pieces(bytes: Uint8Array, size: number) {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

/** Reads it; gives whether it is a scan, and throws unless that is sound or it is refused in words. */
async function isRead(bytes: Uint8Array, random: Random): Promise<boolean> {
  const source = random.below(2) === 0 ? bytes : pieces(bytes, 1 + random.below(200));
  const before = process.memoryUsage().arrayBuffers;
  const scan = await readScan(source, { name: 'scan', keepWhole: random.below(4) === 0 }).catch((error: unknown) => {
    if (
      error instanceof FettleError &&
      error.message.startsWith('scan: ') &&
      !/object Object|undefined/.test(error.message)
    )
      return undefined;
    throw error;
  });
  // Windows and scratch take some ten megabytes whatever the file; a count taken at its word takes gigabytes.
  if (process.memoryUsage().arrayBuffers - before > 150e6) throw new Error('took more than 150 MB');
  if (scan === undefined) return false;
  const { positions, triangles, normals: n, colors } = scan;
  const points = positions.length / 3;
  const isSound =
    points > 0 &&
    Number.isInteger(points) &&
    positions.every(Number.isFinite) &&
    (triangles === undefined || (triangles.length % 3 === 0 && triangles.every((v) => v < points))) &&
    (n === undefined || (n.length === positions.length && n.every(Number.isFinite))) &&
    (colors === undefined || colors.length === positions.length);
  if (!isSound) throw new Error('a scan that is none');
  return true;
}

describe.each(Object.entries(formats))('%s, damaged at random', (name, make) => {
  it(`is read as a sound scan or refused in words, ${CASES} times`, { timeout: 3_600_000 }, async () => {
    const random = seededRandom(Number(process.env.FUZZ_SEED ?? 20_261_130) + name.length);
    let read = 0;
    for (let i = 0; i < CASES; i++) {
      const bytes = make(random);
      try {
        if (await isRead(bytes, random)) read++;
      } catch (error) {
        throw new Error(`case ${i}: ${Buffer.from(bytes).toString('base64')}`, { cause: error });
      }
    }
    // Both happen often enough to mean something.
    expect(read).toBeGreaterThan(CASES / 50);
    expect(CASES - read).toBeGreaterThan(CASES / 50);
  });
});

it(`a plan, damaged at random, is read or refused in words, ${CASES} times`, { timeout: 3_600_000 }, () => {
  const random = seededRandom(20_261_130);
  for (let i = 0; i < CASES; i++) {
    const bytes = damaged(plan, random, () => plan);
    try {
      planFromText(new TextDecoder().decode(bytes), 'plan');
    } catch (error) {
      if (!(error instanceof FettleError)) throw new Error(`case ${i}: ${Buffer.from(bytes)}`, { cause: error });
    }
  }
});
