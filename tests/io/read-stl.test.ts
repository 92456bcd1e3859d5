import { seededRandom } from '@fettle/geom';
import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, numbers, stl } from './bytes.js';

const read = (bytes: Uint8Array | string) =>
  readScan(typeof bytes === 'string' ? file(bytes) : bytes, { name: 'scan.stl', units: 'mm' });

/** Two triangles with a common edge. */
const facets = [
  [0, 0, 0, 1, 0, 0, 1, 1, 0],
  [0, 0, 0, 1, 1, 0, 0, 1, 0],
];
const points = [0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0];
const triangles = [0, 1, 2, 0, 2, 3];

const text = (of: readonly (readonly number[])[], name = 'plate') =>
  [
    `solid ${name}`,
    ...of.flatMap((c) => [
      'facet normal 0 0 1',
      'outer loop',
      ...[0, 3, 6].map((k) => `vertex ${c.slice(k, k + 3).join(' ')}`),
      'endloop',
      'endfacet',
    ]),
    `endsolid ${name}`,
    '',
  ].join('\n');

describe('binary', () => {
  it('corners equal bit for bit become one point, in the order they come', async () => {
    const scan = await read(stl(facets));
    expect([...scan.positions]).toEqual(points);
    expect([...scan.triangles!]).toEqual(triangles);
    expect(scan.source).toMatchObject({ format: 'stl', encoding: 'binary', bytes: 184 });
  });

  it.each(['solid plate', 'solid', 'solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n', 'ply?', 'v 1 2 3', ''])(
    "is told by its size, 84 + 50·n, though it begin '%s'",
    async (header) => {
      expect([...(await read(stl(facets, 2, header))).triangles!]).toEqual(triangles);
    },
  );

  it('-0 is 0, and neighbors in the last bit stay two points', async () => {
    const scan = await read(
      stl([
        [0, 0, 0, 1, 0, 0, 1, 1, 0],
        [-0, -0, -0, 1 + 2 ** -23, 0, 0, 1, 1, -0],
      ]),
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 3, 2]);
    expect(scan.positions.some((c) => Object.is(c, -0))).toBe(false);
  });

  it('says its unit where the header does', async () => {
    const scan = await readScan(stl(facets, 2, 'units = inch'), { name: 'scan.stl' });
    expect(scan.source).toMatchObject({ unit: 'inch', unitFrom: 'file' });
    expect(scan.positions[3]).toBe(25.4);
  });

  it('merges a hundred thousand points right', async () => {
    // A grid of 300 × 300 cells; every corner's own coordinates must come back from its number.
    const n = 300;
    const cells = Array.from({ length: n * n }, (_, k) => [k % n, Math.floor(k / n)] as const);
    const bytes = new Uint8Array(84 + 50 * 2 * cells.length);
    const view = new DataView(bytes.buffer);
    view.setUint32(80, 2 * cells.length, true);
    const corners: number[] = [];
    for (const [x, y] of cells)
      corners.push(x, y, 0, x + 1, y, 0, x + 1, y + 1, 0, x, y, 0, x + 1, y + 1, 0, x, y + 1, 0);
    corners.forEach((c, i) => {
      view.setFloat32(84 + 50 * Math.floor(i / 9) + 12 + 4 * (i % 9), c / 7, true);
    });
    const scan = await read(bytes);
    expect(scan.positions).toHaveLength(3 * (n + 1) ** 2);
    const back = Array.from(scan.triangles!).flatMap((v) => [...scan.positions.subarray(3 * v, 3 * v + 3)]);
    expect(back.every((c, i) => c === Math.fround(corners[i] / 7))).toBe(true);
  });

  const random = seededRandom(11);
  const near = (size: number) => Array.from({ length: 9 }, () => Math.round(size * random.next()) / 64);
  it.each([
    ['in no order', () => near(2000)],
    ['first a wall of large triangles, then a part so small that all of it is in one cell', near],
    ['all corners at two places', () => [1, 1, 1, 1, 1, 1, 2, 2, 2]],
    ['beyond what whole numbers hold', (size: number) => near(size).map((c) => c * 1e30)],
  ])('numbers points in the order of their first corners: %s', async (_, facet) => {
    const large = Array.from({ length: 300 }, () => facet(640_000));
    const small = Array.from({ length: 30_000 }, () => facet(64));
    const all = [...large, ...small];
    const numbered = new Map<string, number>();
    const expected = all.flatMap((c) =>
      [0, 3, 6].map((k) => {
        const key = c
          .slice(k, k + 3)
          .map(Math.fround)
          .join();
        if (!numbered.has(key)) numbered.set(key, numbered.size);
        return numbered.get(key)!;
      }),
    );
    const scan = await read(stl(all));
    expect(scan.positions).toHaveLength(3 * numbered.size);
    expect(Buffer.from(scan.triangles!.buffer).equals(Buffer.from(Uint32Array.from(expected).buffer))).toBe(true);
    expect([...numbered.keys()].every((key, v) => key === scan.positions.subarray(3 * v, 3 * v + 3).join())).toBe(true);
  });
});

it.each([
  ['binary', () => stl(facets)],
  ['text', () => file(text(facets))],
])('every corner is a point where merging is off, in %s', async (_, bytes) => {
  const scan = await readScan(bytes(), { units: 'mm', merge: false });
  expect([...scan.positions]).toEqual(facets.flat());
  expect([...scan.triangles!]).toEqual([0, 1, 2, 3, 4, 5]);
});

describe('text', () => {
  it('corners with the same numbers become one point', async () => {
    const scan = await read(text(facets));
    expect([...scan.positions]).toEqual(points);
    expect([...scan.triangles!]).toEqual(triangles);
    expect(scan.source.encoding).toBe('text');
  });

  const plain = text(facets);
  it.each([
    ['in capitals', plain.toUpperCase()],
    ['with carriage returns and line feeds', plain.replaceAll('\n', '\r\n')],
    ['with carriage returns', plain.replaceAll('\n', '\r')],
    ['indented with tabs', plain.replaceAll(/^/gm, '\t\t').replaceAll('\n\t\t$', '\n')],
    [
      'all words of a facet in one line',
      plain.replaceAll(/\n(?!facet|endsolid|$)/g, ' ').replace(/^solid plate /, 'solid plate\n'),
    ],
    [
      'a word a line',
      plain.replaceAll(' ', '\n').replace('solid\nplate', 'solid plate').replace('endsolid\nplate', 'endsolid plate'),
    ],
    ['without names', plain.replaceAll(' plate', '')],
    ['with a name that holds words of the format', plain.replaceAll('plate', 'a facet normal endsolid')],
    ['with facet normals that are no numbers', plain.replaceAll('normal 0 0 1', 'normal nan nan nan')],
    ['without a line end at the end', plain.trimEnd()],
    ['in several solids', text([facets[0]], 'one') + text([facets[1]], 'two')],
    ['with numbers in exponents', plain.replaceAll('vertex 1 1 0', 'vertex 1.0e+00 10.e-1 0E0')],
  ])('%s', async (_, content) => {
    const scan = await read(content);
    expect([...scan.positions]).toEqual(points);
    expect([...scan.triangles!]).toEqual(triangles);
  });

  it('keeps all digits: two points that single precision would merge stay two', async () => {
    const scan = await read(text([[0, 0, 0, 1, 0, 0, 1.00000001, 0, 1]]));
    expect(scan.positions[6]).toBe(1.00000001);
  });

  it('-0 is 0', async () => {
    const scan = await read(text([facets[0]]) + text([facets[1]]).replaceAll(' 0', ' -0.0'));
    expect([...scan.triangles!]).toEqual(triangles);
  });
});

describe('a triangle with a coordinate that is no number', () => {
  it('is dropped and counted, in binary', async () => {
    const scan = await read(stl([[0, 0, Number.NaN, 1, 0, 0, 1, 1, 0], facets[1], [0, 0, 0, Infinity, 0, 0, 1, 1, 0]]));
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'scan.stl: 2 triangles with a coordinate that is no number dropped.',
    ]);
  });

  it('is dropped and counted, in text', async () => {
    const scan = await read(text(facets).replace('vertex 1 0 0', 'vertex nan 0 inf'));
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'scan.stl: 1 triangle with a coordinate that is no number dropped.',
    ]);
  });
});

it('padding of zeros behind a binary file is noted', async () => {
  const scan = await read(file(stl(facets), new Uint8Array(328)));
  expect([...scan.triangles!]).toEqual(triangles);
  expect(scan.source.warnings.map((w) => w.message)).toEqual(['scan.stl: 328 bytes behind its 2 triangles left out.']);
});

it('a few bytes of anything behind a binary file are noted', async () => {
  const scan = await read(file(stl(facets), numbers('uint8', [1, 2, 3])));
  expect(scan.source.warnings.map((w) => w.message)).toEqual(['scan.stl: 3 bytes behind its 2 triangles left out.']);
});
