import { readdirSync, readFileSync } from 'node:fs';
import { bytesOf, type ReadScan, readScan, writeObj, writePly, writeStl } from '@fettle/io';
import bunny from 'bunny';
import type { BufferGeometry, Mesh } from 'three';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { describe, expect, it } from 'vitest';
import { file, numbers, stl } from './bytes.js';

/** Corner coordinates of every triangle, in order, in single precision: what a reader and three's loader can both give. */
function cornersOf({ positions, triangles }: Pick<ReadScan, 'positions' | 'triangles'>): number[] {
  const corners: number[] = [];
  for (const v of triangles!) for (let k = 3 * v; k < 3 * v + 3; k++) corners.push(Math.fround(positions[k]));
  return corners;
}

function cornersOfGeometry(geometry: BufferGeometry): number[] {
  const position = geometry.getAttribute('position');
  const order = geometry.index?.array ?? Uint32Array.from({ length: position.count }, (_, i) => i);
  const corners: number[] = [];
  for (const v of order)
    for (const c of [position.getX(v), position.getY(v), position.getZ(v)]) corners.push(Math.fround(c));
  return corners;
}

const buffer = (bytes: Uint8Array): ArrayBuffer => bytes.slice().buffer as ArrayBuffer;
const decode = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);
const byPly = (bytes: Uint8Array) => new PLYLoader().parse(buffer(bytes));
const byStl = (bytes: Uint8Array) => new STLLoader().parse(buffer(bytes));
const byObj = (bytes: Uint8Array): number[] =>
  new OBJLoader().parse(decode(bytes)).children.flatMap((child) => cornersOfGeometry((child as Mesh).geometry));

const scanOf = (positions: readonly (readonly number[])[], cells: readonly (readonly number[])[]) => ({
  positions: Float64Array.from(positions.flat()),
  triangles: Uint32Array.from(cells.flat()),
  units: 'mm' as const,
  name: 'bunny',
});

describe("the Stanford bunny, a scanned mesh, written in every format: three's loaders and these readers see the same", () => {
  const scan = scanOf(bunny.positions, bunny.cells);

  it('PLY: the same points, the same triangles', async () => {
    const bytes = bytesOf(writePly(scan));
    const ours = await readScan(bytes);
    const theirs = byPly(bytes);
    expect(ours.triangles).toEqual(Uint32Array.from(theirs.index!.array));
    expect(ours.positions).toEqual(Float64Array.from(theirs.getAttribute('position').array));
    expect(ours.positions).toEqual(scan.positions);
  });

  it('OBJ: the same triangles, corner by corner', async () => {
    const bytes = bytesOf(writeObj(scan));
    expect(cornersOf(await readScan(bytes))).toEqual(byObj(bytes));
  });

  it('STL: the same triangles, corner by corner, over points merged back to as many as the mesh has', async () => {
    const bytes = bytesOf(writeStl(scan));
    const ours = await readScan(bytes);
    expect(cornersOf(ours)).toEqual(cornersOfGeometry(byStl(bytes)));
    expect(ours.positions).toHaveLength(scan.positions.length);
  });
});

describe('fixtures', () => {
  const folder = new URL('../fixtures/', import.meta.url);
  const load = (name: string) => new Uint8Array(readFileSync(new URL(name, folder)));

  it('the table and the mug: the same points', async () => {
    const bytes = load('table-mug.ply');
    const ours = await readScan(bytes);
    expect(ours.positions).toHaveLength(3 * 139_897);
    expect(Float32Array.from(ours.positions)).toEqual(byPly(bytes).getAttribute('position').array);
  });

  it.each(readdirSync(folder).filter((name) => /^small-.*\.(ply|obj|stl)$/.test(name)))('%s', async (name) => {
    const bytes = load(name);
    const theirs = name.endsWith('obj')
      ? byObj(bytes)
      : cornersOfGeometry((name.endsWith('ply') ? byPly : byStl)(bytes));
    expect(theirs.length).toBeGreaterThan(0);
    expect(cornersOf(await readScan(bytes))).toEqual(theirs);
  });
});

describe("colors: three turns a file's sRGB into linear light for its renderer; a scan keeps what the file says", () => {
  it('PLY', async () => {
    const bytes = file(
      'ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n',
      'property uchar red\nproperty uchar green\nproperty uchar blue\nend_header\n0 0 0 255 128 0\n',
    );
    expect([...(await readScan(bytes)).colors!]).toEqual([255, 128, 0]);
    // 128/255 in sRGB is 0.2159 in linear light (IEC 61966-2-1): 55 of 255.
    expect([...byPly(bytes).getAttribute('color').array]).toEqual([255, 55, 0]);
  });
});

describe('where they differ', () => {
  const head = 'ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float z\n';
  const house = '0 0 0\n2 0 0\n2 2 0\n1 3 0\n0 2 0\n';

  it('three leaves out PLY faces of five corners or more; a polygon is a face of any number of corners (Turk 1994)', async () => {
    const bytes = file(
      head,
      'element face 1\nproperty list uchar int vertex_indices\nend_header\n',
      house,
      '5 0 1 2 3 4\n',
    );
    expect(byPly(bytes).index).toBeNull();
    expect([...(await readScan(bytes)).triangles!]).toEqual([0, 1, 2, 0, 2, 3, 0, 3, 4]);
  });

  it('three cuts a quad with an inward corner across its outside; the two halves must add up to its area', async () => {
    const bytes = file(
      head.replace('vertex 5', 'vertex 4'),
      'element face 1\nproperty list uchar int vertex_indices\nend_header\n-2 0 0\n0 1 0\n2 0 0\n0 4 0\n4 0 1 2 3\n',
    );
    const unsigned = (c: readonly number[]) =>
      [0, 9].map(
        (i) => Math.abs((c[i + 3] - c[i]) * (c[i + 7] - c[i + 1]) - (c[i + 6] - c[i]) * (c[i + 4] - c[i + 1])) / 2,
      );
    const sum = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
    // By the shoelace formula the dart has area 6.
    expect(sum(unsigned(cornersOf(await readScan(bytes))))).toBe(6);
    expect(sum(unsigned(cornersOfGeometry(byPly(bytes))))).toBe(10);
  });

  it('three reads text PLY word by word, so a short row takes its last number from the next; here it is refused', async () => {
    const bytes = file(head.replace('vertex 5', 'vertex 2'), 'end_header\n1 2\n3 4 5\n');
    expect([...byPly(bytes).getAttribute('position').array]).toEqual([1, 2, 3]);
    await expect(readScan(bytes)).rejects.toMatchObject({ code: 'wrong-count' });
  });

  it('three hands on an index that names no point; here it is refused', async () => {
    const bytes = file(
      'ply\nformat binary_little_endian 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n',
      'element face 1\nproperty list uchar int vertex_indices\nend_header\n',
      numbers('float32', [0, 0, 0]),
      numbers('uint8', [3]),
      numbers('int32', [0, 0, -1]),
    );
    expect(byPly(bytes).index!.array[2]).toBeGreaterThan(0);
    await expect(readScan(bytes)).rejects.toMatchObject({ code: 'index-out-of-range' });
  });

  it("three joins a continued line without a blank, and makes 12 of a 1 and a 2; the format's words do not run over lines", async () => {
    const bytes = file('v 0 0 0\nv 1 0 0\nv 1 1 0\nf 1 2\\\n3\n');
    expect(new OBJLoader().parse(decode(bytes)).children.map((child) => child.type)).toEqual(['Points']);
    expect([...(await readScan(bytes)).triangles!]).toEqual([0, 1, 2]);
  });

  it('three lets a backslash continue a comment and loses the line behind it; comments end with their line', async () => {
    const bytes = file('# from C:\\scans\\\nv 0 0 0\nv 1 0 0\nv 1 1 0\nf 1 2 3\n');
    expect(byObj(bytes).slice(0, 3)).not.toEqual([0, 0, 0]);
    expect(cornersOf(await readScan(bytes))).toEqual([0, 0, 0, 1, 0, 0, 1, 1, 0]);
  });

  it('three takes a binary STL that is padded and begins with solid for text, and finds nothing in it', async () => {
    const bytes = file(stl([[0, 0, 0, 1, 0, 0, 1, 1, 0]], 1, 'solid plate'), new Uint8Array(10));
    expect(cornersOfGeometry(byStl(bytes))).toEqual([]);
    expect(cornersOf(await readScan(bytes))).toEqual([0, 0, 0, 1, 0, 0, 1, 1, 0]);
  });

  it('three reads only small letters in text STL; the words of the format stand in capitals as well', async () => {
    const bytes = file(
      'SOLID\nFACET NORMAL 0 0 1\nOUTER LOOP\nVERTEX 0 0 0\nVERTEX 1 0 0\nVERTEX 1 1 0\nENDLOOP\nENDFACET\nENDSOLID\n',
    );
    expect(cornersOf(await readScan(bytes))).toEqual([0, 0, 0, 1, 0, 0, 1, 1, 0]);
    expect(() => byStl(bytes)).toThrow();
  });

  it('three keeps NaN points; here they are dropped with their triangles', async () => {
    const bytes = file('v 0 0 0\nv nan 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3\nf 1 3 4\n');
    expect(byObj(bytes).filter(Number.isNaN)).toHaveLength(1);
    expect(cornersOf(await readScan(bytes))).toEqual([0, 0, 0, 1, 1, 0, 0, 1, 0]);
  });
});
