import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, type Kind, numbers } from './bytes.js';

const read = (...pieces: readonly (string | Uint8Array)[]) => readScan(file(...pieces), { name: 'scan.ply' });
const header = (format: string, ...lines: readonly string[]) =>
  ['ply', `format ${format} 1.0`, 'comment units mm', ...lines, 'end_header', ''].join('\n');
const xyz = (type: string) => ['x', 'y', 'z'].map((name) => `property ${type} ${name}`);

const types: readonly (readonly [string, Kind, readonly number[]])[] = [
  ['char', 'int8', [-128, 0, 127]],
  ['int8', 'int8', [-128, 0, 127]],
  ['uchar', 'uint8', [0, 1, 255]],
  ['uint8', 'uint8', [0, 1, 255]],
  ['short', 'int16', [-32768, 0, 32767]],
  ['int16', 'int16', [-32768, 0, 32767]],
  ['ushort', 'uint16', [0, 1, 65535]],
  ['uint16', 'uint16', [0, 1, 65535]],
  ['int', 'int32', [-2147483648, 0, 2147483647]],
  ['int32', 'int32', [-2147483648, 0, 2147483647]],
  ['uint', 'uint32', [0, 1, 4294967295]],
  ['uint32', 'uint32', [0, 1, 4294967295]],
  ['float', 'float32', [-1.5, 0.25, 2 ** 100]],
  ['float32', 'float32', [-1.5, 0.25, 2 ** 100]],
  ['double', 'float64', [-0.1, 1 / 3, 1e300]],
  ['float64', 'float64', [-0.1, 1 / 3, 1e300]],
];

describe('coordinates of every type', () => {
  const formats = [
    ['binary_little_endian', true],
    ['binary_big_endian', false],
  ] as const;
  for (const [format, little] of formats) {
    it.each(types.filter(([, , v]) => v[2] < 1e300))(`%s, ${format}`, async (type, kind, values) => {
      const scan = await read(header(format, 'element vertex 1', ...xyz(type)), numbers(kind, values, little));
      expect([...scan.positions]).toEqual(values);
    });
  }

  it.each(types.filter(([, , v]) => v[2] < 1e300))('%s, ascii', async (type, _, values) => {
    const scan = await read(header('ascii', 'element vertex 1', ...xyz(type)), `${values.join(' ')}\n`);
    expect([...scan.positions]).toEqual(values);
  });

  it('text keeps all digits of a number, though its type be float', async () => {
    const scan = await read(header('ascii', 'element vertex 1', ...xyz('float')), '0.1 123.456789012345 1e-3\n');
    expect([...scan.positions]).toEqual([0.1, 123.456789012345, 1e-3]);
  });
});

describe('faces', () => {
  const square = 'element vertex 4\nproperty float x\nproperty float y\nproperty float z';
  const corners = [0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0];

  it.each([
    ['uchar', 'int'],
    ['uint8', 'uint32'],
    ['char', 'ushort'],
    ['short', 'uchar'],
    ['ushort', 'short'],
    ['int', 'char'],
    ['uint', 'double'],
  ] as const)('counted by %s, named by %s, in both byte orders', async (countType, type) => {
    const kind = (word: string) => types.find(([name]) => name === word)![1];
    for (const little of [true, false]) {
      const scan = await read(
        header(
          little ? 'binary_little_endian' : 'binary_big_endian',
          square,
          'element face 2',
          `property list ${countType} ${type} vertex_indices`,
        ),
        numbers('float32', corners, little),
        numbers(kind(countType), [3], little),
        numbers(kind(type), [0, 1, 2], little),
        numbers(kind(countType), [3], little),
        numbers(kind(type), [0, 2, 3], little),
      );
      expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 2, 3]);
    }
  });

  it('with other properties before and behind the list, and under the name vertex_index', async () => {
    const scan = await read(
      header(
        'binary_little_endian',
        square,
        'element face 2',
        'property list uchar float texcoord',
        'property uchar flags',
        'property list uchar int vertex_index',
        'property double quality',
      ),
      numbers('float32', corners),
      numbers('uint8', [2]),
      numbers('float32', [0.5, 0.5]),
      numbers('uint8', [7, 3]),
      numbers('int32', [0, 1, 2]),
      numbers('float64', [0.9]),
      numbers('uint8', [0, 7, 3]),
      numbers('int32', [0, 2, 3]),
      numbers('float64', [0.8]),
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 2, 3]);
  });

  it('a convex polygon becomes a fan from its first corner', async () => {
    const hexagon = Array.from(
      { length: 6 },
      (_, k) => `${Math.cos((k * Math.PI) / 3)} ${Math.sin((k * Math.PI) / 3)} 0`,
    );
    const scan = await read(
      header('ascii', 'element vertex 6', ...xyz('float'), 'element face 1', 'property list uchar int vertex_indices'),
      `${hexagon.join('\n')}\n6 0 1 2 3 4 5\n`,
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 2, 3, 0, 3, 4, 0, 4, 5]);
  });

  it('a quad with a corner pointing inward is cut at that corner, not across the outside', async () => {
    const scan = await read(
      header('ascii', 'element vertex 4', ...xyz('float'), 'element face 1', 'property list uchar int vertex_indices'),
      '-2 0 0\n0 1 0\n2 0 0\n0 4 0\n4 0 1 2 3\n',
    );
    // A dart of area 6; the fan from its first corner would be -2 and 8.
    expect(areas(scan.positions, scan.triangles!)).toEqual([3, 3]);
  });

  it('a comb-shaped polygon is cut into triangles that all face its way and add up to its area', async () => {
    // Three teeth, counterclockwise: 6 × 1 plus three of 1 × 2 is 12.
    const comb = [0, 0, 6, 0, 6, 1, 5, 1, 5, 3, 4, 3, 4, 1, 3, 1, 3, 3, 2, 3, 2, 1, 1, 1, 1, 3, 0, 3];
    const rows = Array.from({ length: comb.length / 2 }, (_, i) => `${comb[2 * i]} 7 ${comb[2 * i + 1]}`);
    const scan = await read(
      header(
        'ascii',
        `element vertex ${rows.length}`,
        ...xyz('float'),
        'element face 1',
        'property list uchar int vertex_indices',
      ),
      `${rows.join('\n')}\n${rows.length} ${rows.map((_, i) => i).join(' ')}\n`,
    );
    const found = areas(scan.positions, scan.triangles!);
    expect(found).toHaveLength(rows.length - 2);
    // Seen along y from below the polygon runs the other way round: all areas have one sign.
    expect(found.every((area) => area < 0)).toBe(true);
    expect(found.reduce((sum, area) => sum + area, 0)).toBeCloseTo(-12, 12);
  });

  it('a polygon that crosses itself stays a fan, with a warning', async () => {
    const scan = await read(
      header('ascii', 'element vertex 4', ...xyz('float'), 'element face 1', 'property list uchar int vertex_indices'),
      '0 0 0\n1 1 0\n1 0 0\n0 0.5 0\n4 0 1 2 3\n',
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 0, 2, 3]);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'scan.ply: 1 polygon left as fans, which may overlap: no clean cut, or very many corners.',
    ]);
  });

  it('strips: every second triangle is turned, -1 begins anew', async () => {
    const scan = await read(
      header(
        'ascii',
        'element vertex 5',
        ...xyz('float'),
        'element tristrips 1',
        'property list int int vertex_indices',
      ),
      '0 0 0\n1 0 0\n0 1 0\n1 1 0\n0 2 0\n9 0 1 2 3 -1 4 3 2 1\n',
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 2, 1, 3, 4, 3, 2, 2, 3, 1]);
  });
});

describe('normals and colors', () => {
  it('are read beside the coordinates, in whatever order the properties stand', async () => {
    const scan = await read(
      header(
        'ascii',
        'element vertex 2',
        'property uchar blue',
        'property float nz',
        'property float x',
        'property uchar red',
        'property float y',
        'property float ny',
        'property float z',
        'property uchar green',
        'property float nx',
      ),
      '3 1 10 1 20 0 30 2 0\n6 0 40 4 50 0.6 60 5 0.8\n',
    );
    expect([...scan.positions]).toEqual([10, 20, 30, 40, 50, 60]);
    expect([...scan.colors!]).toEqual([1, 2, 3, 4, 5, 6]);
    expect([...scan.normals!]).toEqual([0, 0, 1, Math.fround(0.8), Math.fround(0.6), 0]);
  });

  it('normals of any length come out unit, those of no length zero: unknown', async () => {
    const normals = ['nx', 'ny', 'nz'].map((name) => `property float ${name}`);
    const scan = await read(
      header('ascii', 'element vertex 3', ...xyz('float'), ...normals),
      '0 0 0 0 0 5\n1 0 0 0 0 0\n0 1 0 nan nan nan\n',
    );
    expect([...scan.normals!]).toEqual([0, 0, 1, 0, 0, 0, 0, 0, 0]);
  });

  it.each([
    ['uchar', '0 128 255', [0, 128, 255]],
    ['ushort', '0 32896 65535', [0, 128, 255]],
    ['float', '0 0.5 1', [0, 128, 255]],
  ] as const)('colors in %s come out in 0 to 255', async (type, values, expected) => {
    const colors = ['red', 'green', 'blue'].map((name) => `property ${type} ${name}`);
    const scan = await read(header('ascii', 'element vertex 1', ...xyz('float'), ...colors), `0 0 0 ${values}\n`);
    expect([...scan.colors!]).toEqual(expected);
  });
});

describe('what a scan has no use for is passed over', () => {
  it('elements before, between and behind, with and without lists, with and without rows or properties', async () => {
    const scan = await read(
      header(
        'binary_little_endian',
        'element camera 1',
        'property float view_px',
        'property list uchar short parameters',
        'element vertex 3',
        ...xyz('float'),
        'property list uchar uchar tags',
        'element nothing 4000000000',
        'element edge 2',
        'property int vertex1',
        'property int vertex2',
        'element face 1',
        'property list uchar int vertex_indices',
        'element range_grid 1',
        'property list uchar int vertex_indices',
      ),
      numbers('float32', [1]),
      numbers('uint8', [2]),
      numbers('int16', [5, 6]),
      numbers('float32', [0, 0, 0]),
      numbers('uint8', [0]),
      numbers('float32', [1, 0, 0]),
      numbers('uint8', [3, 9, 9, 9]),
      numbers('float32', [0, 1, 0]),
      numbers('uint8', [1, 9]),
      numbers('int32', [0, 1, 1, 2]),
      numbers('uint8', [3]),
      numbers('int32', [0, 1, 2]),
      numbers('uint8', [0]),
    );
    expect([...scan.positions]).toEqual([0, 0, 0, 1, 0, 0, 0, 1, 0]);
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
    // An element that names vertices may have been meant as faces.
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      "scan.ply: element 'range_grid' names vertices, and is neither face nor tristrips: passed over.",
    ]);
  });

  it('the same in text, with blank lines and blanks at either end of a line', async () => {
    const scan = await read(
      header(
        'ascii',
        'element camera 1',
        'property list uchar short parameters',
        'element nothing 4000000000',
        'element vertex 3',
        'property list uchar uchar tags',
        ...xyz('float'),
        'element face 1',
        'property uchar flag',
        'property list uchar int vertex_indices',
      ),
      'anything at all\n\n0 0 0 0 \n  2 8 8\t1 0 0\n1 8 0 1 0\n\n255 3 0 1 2\n\n',
    );
    expect([...scan.positions]).toEqual([0, 0, 0, 1, 0, 0, 0, 1, 0]);
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
  });
});

describe('real headers', () => {
  const body = '0 0 0\n1 2 3\n';
  const lines = ['ply', 'format ascii 1.0', 'element vertex 2', ...xyz('float'), 'end_header', ''];

  it.each([
    ['line feeds', '\n'],
    ['carriage returns and line feeds', '\r\n'],
    ['carriage returns', '\r'],
  ])('with %s', async (_, end) => {
    const scan = await read(lines.join(end), body.replaceAll('\n', end));
    expect([...scan.positions]).toEqual([0, 0, 0, 1, 2, 3]);
  });

  it('with carriage returns before binary data that begin with a line feed', async () => {
    // 2.0000000 as a big-endian single begins 0x40; a tag of 10 comes first.
    const head = [
      'ply',
      'format binary_little_endian 1.0',
      'element vertex 1',
      'property uchar tag',
      ...xyz('float'),
      'end_header',
      '',
    ];
    const scan = await read(head.join('\r'), numbers('uint8', [10]), numbers('float32', [1, 2, 3]));
    expect([...scan.positions]).toEqual([1, 2, 3]);
  });

  it('with comments in any language and obj_info', async () => {
    const scan = await read(
      header(
        'ascii',
        'comment Gußteil, gescannt bei 20 °C – 鋳物',
        'obj_info num_cols 512',
        'element vertex 2',
        ...xyz('float'),
      ),
      body,
    );
    expect(scan.positions).toHaveLength(6);
  });

  it('blanks and tabs between words', async () => {
    const scan = await read(
      'ply \nformat  ascii\t1.0\nelement vertex  1\n',
      ' property float x\nproperty float y \nproperty\tfloat z\nend_header \n1 2 3\n',
    );
    expect([...scan.positions]).toEqual([1, 2, 3]);
  });
});

describe('a cloud', () => {
  it('is what a file without faces, or without one of them, holds', async () => {
    const none = header('ascii', 'element vertex 1', ...xyz('float'));
    const zero = header(
      'ascii',
      'element vertex 1',
      ...xyz('float'),
      'element face 0',
      'property list uchar int vertex_indices',
    );
    for (const head of [none, zero]) expect((await read(head, '1 2 3\n')).triangles).toBeUndefined();
  });

  it('of one point is a scan', async () => {
    const scan = await read(header('ascii', 'element vertex 1', ...xyz('float')), '1 2 3');
    expect([...scan.positions]).toEqual([1, 2, 3]);
  });
});

/** The signed area of each triangle, seen along the axis the polygon is flat in. */
function areas(p: Float64Array, triangles: Uint32Array): number[] {
  const flat = [0, 1, 2].find((k) => p.every((c, i) => i % 3 !== k || c === p[k]))!;
  const [u, v] = [(flat + 1) % 3, (flat + 2) % 3];
  return Array.from({ length: triangles.length / 3 }, (_, t) => {
    const [a, b, c] = [0, 1, 2].map((k) => 3 * triangles[3 * t + k]);
    return ((p[b + u] - p[a + u]) * (p[c + v] - p[a + v]) - (p[b + v] - p[a + v]) * (p[c + u] - p[a + u])) / 2;
  });
}
