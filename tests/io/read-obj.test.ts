import { readScan } from '@fettle/io';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { file } from './bytes.js';

const read = (text: string) => readScan(file(text), { name: 'scan.obj', units: 'mm' });
const square = 'v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n';
const two = [0, 1, 2, 0, 2, 3];

describe('faces in every form of index', () => {
  it.each([
    ['v', 'f 1 2 3\nf 1 3 4\n'],
    ['v/vt', 'vt 0 0\nf 1/1 2/1 3/1\nf 1/1 3/1 4/1\n'],
    ['v/vt/vn', 'vt 0 0\nvn 0 0 1\nf 1/1/1 2/1/1 3/1/1\nf 1/1/1 3/1/1 4/1/1\n'],
    ['v//vn', 'vn 0 0 1\nf 1//1 2//1 3//1\nf 1//1 3//1 4//1\n'],
    ['v/ with nothing behind', 'f 1/ 2/ 3/\nf 1// 3// 4//\n'],
    ['relative', 'f -4 -3 -2\nf -4 -2 -1\n'],
    ['relative, all three', 'vt 0 0\nvn 0 0 1\nf -4/-1/-1 -3/-1/-1 -2/-1/-1\nf -4/-1/-1 -2/-1/-1 -1/-1/-1\n'],
    ['mixed in one face', 'vn 0 0 1\nf 1 -3 3//1\nf 1//-1 3/9 -1\n'],
    ['with plus signs', 'f +1 +2 +3\nf +1 +3 +4\n'],
    ['with leading zeros', 'f 0000000001 02 3\nf 1 3 000000000000004\n'],
    ['the old word for it', 'fo 1 2 3\nfo 1 3 4\n'],
    ['one polygon', 'f 1 2 3 4\n'],
  ])('%s', async (_, faces) => {
    expect([...(await read(square + faces)).triangles!]).toEqual(two);
  });

  it('relative indices count back from where they stand', async () => {
    const scan = await read('v 0 0 0\nv 1 0 0\nv 0 1 0\nf -3 -2 -1\nv 5 0 0\nv 6 0 0\nv 5 1 0\nf -3 -2 -1\n');
    expect([...scan.triangles!]).toEqual([0, 1, 2, 3, 4, 5]);
  });

  it('faces may stand before their vertices', async () => {
    expect([...(await read(`f 1 2 3\nf 1 3 4\n${square}`)).triangles!]).toEqual(two);
  });
});

describe('lines', () => {
  const plain = `${square}f 1 2 3\nf 1 3 4\n`;
  it.each([
    ['carriage returns and line feeds', plain.replaceAll('\n', '\r\n')],
    ['carriage returns', plain.replaceAll('\n', '\r')],
    ['tabs', plain.replaceAll(' ', '\t')],
    ['blanks before, between and behind', plain.replaceAll(/^/gm, '  ').replaceAll(' ', '  ').replaceAll('\n', ' \n')],
    ['blank lines', plain.replaceAll('\n', '\n\n \n')],
    ['comments between and behind statements', plain.replaceAll('\n', ' # of the left foot\n# ---\n#\n')],
    ['continued at every blank', plain.replaceAll(' ', ' \\\n')],
    ['continued, carriage returns and line feeds', plain.replaceAll(' ', ' \\\r\n  ')],
    ['a backslash in a comment, which continues nothing', plain.replaceAll('\n', '\n# C:\\scans\\\n')],
    ['a mark of UTF-8 at the start', `\ufeff${plain}`],
    ['no line end at the end', plain.trimEnd()],
    ['a last line continued into nothing', `${plain}g feet \\`],
  ])('%s', async (_, text) => {
    const scan = await read(text);
    expect([...scan.positions]).toEqual([0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0]);
    expect([...scan.triangles!]).toEqual(two);
  });

  it('one without a line end at the end may be cut short, and the scan says so', async () => {
    expect((await read(plain.trimEnd())).source.warnings.map((w) => w.message)).toEqual([
      'scan.obj: line 6, the last, has no line end: the file may be cut short.',
    ]);
    expect((await read(plain)).source.warnings).toEqual([]);
  });
});

describe('a file of several objects', () => {
  it('is one scan: materials, groups, smoothing, textures, points and lines passed over', async () => {
    const scan = await read(
      [
        'mtllib pump.mtl',
        'o foot',
        'v 0 0 0\nv 1 0 0\nv 0 1 0',
        'vt 0.5 0.5 0',
        'g left foot',
        'usemtl iron',
        's 1',
        'f 1/1 2/1 3/1',
        'o lever',
        'v 5 0 0\nv 6 0 0\nv 5 1 0',
        's off',
        'f 4 5 6',
        'p 1 2',
        'l 1 2 3',
        '',
      ].join('\n'),
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2, 3, 4, 5]);
    expect(scan.source.warnings).toEqual([]);
  });

  it('lines that are no statement are counted and the first is shown', async () => {
    const scan = await read(`${square}f 1 2 3\nvertex 1 2 3\nhello\n`);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      "scan.obj: 2 lines no OBJ file has passed over, first line 6: 'vertex 1 2 3'.",
    ]);
  });

  it('curves and surfaces are passed over with a warning', async () => {
    const scan = await read(`${square}f 1 2 3\ncstype bezier\ndeg 3 3\nsurf 0 1 0 1 1 2 3 4\nend\n`);
    expect(scan.source.warnings.map((w) => w.code)).toEqual(['curves-passed-over']);
  });
});

describe('vertices', () => {
  it('a fourth value is a weight, and is left out', async () => {
    expect([...(await read('v 1 2 3 0.5\nv 4 5 6 1.0\n')).positions]).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('colors of 0 to 1 stand behind the coordinates, with or without opacity', async () => {
    const scan = await read('v 1 2 3 0 0.5 1\nv 4 5 6 1 1 0.2 0.7\n');
    expect([...scan.colors!]).toEqual([0, 128, 255, 255, 255, 51]);
  });

  it('colors of 0 to 255 are taken as such where one of them is above 1', async () => {
    expect([...(await read('v 1 2 3 0 1 255\nv 4 5 6 1 1 20\n')).colors!]).toEqual([0, 1, 255, 1, 1, 20]);
  });

  it('a vertex without color in a file with colors is white', async () => {
    expect([...(await read('v 0 0 0\nv 1 2 3 0 0 0\nv 4 5 6\n')).colors!]).toEqual([
      255, 255, 255, 0, 0, 0, 255, 255, 255,
    ]);
  });

  it.each([
    ['1e2 -1E-2 +.5', [100, -0.01, 0.5]],
    ['0.1000000000000000055511151231257827 1. -0', [0.1, 1, -0]],
    ['123456789.123456789 9007199254740993 1e300', [123456789.12345679, 9007199254740992, 1e300]],
  ])('numbers as %s', async (text, expected) => {
    expect([...(await read(`v ${text}\n`)).positions]).toEqual(expected);
  });
});

describe('normals', () => {
  const normals = 'vn 0 0 1\nvn 1 0 0\nvn 0 1 0\nvn 0 0 -1\n';

  it('each point takes the first that a face names for it', async () => {
    const scan = await read(`${square}${normals}f 1//4 2//3 3//2\nf 1//1 3//1 4//1\n`);
    expect([...scan.normals!]).toEqual([0, 0, -1, 0, 1, 0, 1, 0, 0, 0, 0, 1]);
  });

  it('faces that name their own numbers first and others later are read alike', async () => {
    const scan = await read(`${square}${normals}f 1//1 2//2 3//3\nf 1//2 3//2 4//2\n`);
    expect([...scan.normals!]).toEqual([0, 0, 1, 1, 0, 0, 0, 1, 0, 1, 0, 0]);
  });

  it.each([
    ['behind', 'f 1 2 3\nf 1//1 3//3 4//4\n'],
    ['before', 'f 1//1 3//3 4//4\nf 1 2 3\n'],
  ])('a point of faces %s that name none has none, wherever a piece of the file ends', async (_, faces) => {
    const whole = `${square}${normals}${faces}`;
    const apart = `${square}${normals}${faces.replace('\n', `\n${'# later\n'.repeat(1 << 16)}`)}`;
    for (const text of [whole, apart]) {
      expect([...(await read(text)).normals!]).toEqual([0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, -1]);
    }
  });

  it('as many normals as points belong to them in order where no face says otherwise', async () => {
    expect([...(await read(square + normals)).normals!]).toEqual([0, 0, 1, 1, 0, 0, 0, 1, 0, 0, 0, -1]);
  });

  it('a point that no face gives a normal has none: zero', async () => {
    const scan = await read(`${square}v 9 9 9\nvn 0 0 1\nf 1//1 2//1 3//1\nf 1 3 4\n`);
    expect([...scan.normals!]).toEqual([0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0]);
  });

  it('normals that nobody names, fewer than points, are left out with a warning', async () => {
    const scan = await read(`${square}vn 0 0 1\nf 1 2 3\n`);
    expect(scan.normals).toBeUndefined();
    expect(scan.source.warnings.map((w) => w.code)).toEqual(['normals-unused']);
  });
});

it('the path for plain lines and the path for all others read the same', async () => {
  const index = fc.integer({ min: 1, max: 12 });
  const corner = fc
    .tuple(index, fc.option(index), fc.option(index), fc.boolean())
    .map(
      ([v, t, n, relative]) =>
        `${relative ? v - 13 : v}${t !== null || n !== null ? `/${t ?? ''}` : ''}${n !== null ? `/${n}` : ''}`,
    );
  const face = fc.array(corner, { minLength: 3, maxLength: 6 }).map((corners) => `f ${corners.join(' ')}`);
  const number = fc.oneof(fc.double({ noNaN: true, min: -1e6, max: 1e6 }).map(String), fc.integer().map(String));
  const vertex = fc.array(number, { minLength: 3, maxLength: 7 }).map((values) => `v ${values.join(' ')}`);
  const normal = fc.array(number, { minLength: 3, maxLength: 3 }).map((values) => `vn ${values.join(' ')}`);
  const lines = fc
    .tuple(
      fc.array(vertex, { minLength: 12, maxLength: 12 }),
      fc.array(normal, { minLength: 12, maxLength: 12 }),
      fc.array(face, { maxLength: 10 }),
    )
    .map((groups) => groups.flat());
  await fc.assert(
    fc.asyncProperty(lines, async (statements) => {
      const plain = await read(`${statements.join('\n')}\n`);
      // A backslash at any place makes a line take the other path.
      const other = await read(`${statements.map((line) => line.replace(' ', ' \\\n')).join('\n')}\n`);
      expect({ ...other, source: undefined }).toEqual({ ...plain, source: undefined });
    }),
    { numRuns: 200, seed: 4 },
  );
});
