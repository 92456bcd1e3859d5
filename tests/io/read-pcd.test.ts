import { readScan } from '@fettle/io';
import { PCDLoader } from 'three/examples/jsm/loaders/PCDLoader.js';
import { describe, expect, it } from 'vitest';
import { file, inPieces } from './bytes.js';
import { type PcdColumn, pcd } from './pcd-file.js';

const N = 300;
const column = (name: string, type: string, value: (i: number) => number): PcdColumn => ({
  name,
  type,
  values: Array.from({ length: N }, (_, i) => value(i)),
});
/** Numbers that single precision has, some over and over, so that there is something to pack. */
const columns = [
  column('x', 'F4', (i) => i / 4),
  column('intensity', 'U2', (i) => i % 7),
  column('y', 'F4', () => 1.5),
  column('z', 'F4', (i) => 1 - (i % 16)),
  column('rgb', 'U4', (i) => (i % 256) * 65536 + 512 + 3),
  column('normal_x', 'F4', () => 0),
  column('normal_y', 'F4', () => 0),
  column('normal_z', 'F4', (i) => (i % 2 === 0 ? 1 : -1)),
];
const positions = Array.from({ length: N }, (_, i) => [i / 4, 1.5, 1 - (i % 16)]).flat();

describe.each(['ascii', 'binary', 'binary_compressed'] as const)('PCD, %s', (data) => {
  const bytes = pcd(columns, data);

  it('gives the points, normals and colors written', async () => {
    const scan = await readScan(bytes, { name: 'scan.pcd' });
    expect([...scan.positions]).toEqual(positions);
    expect([...scan.normals!].filter((_, i) => i % 3 === 2).slice(0, 3)).toEqual([1, -1, 1]);
    expect([...scan.colors!.subarray(0, 9)]).toEqual([0, 2, 3, 1, 2, 3, 2, 2, 3]);
    expect(scan.triangles).toBeUndefined();
    expect(scan.source).toMatchObject({ format: 'pcd', encoding: data === 'ascii' ? 'text' : 'binary', unit: 'mm' });
    expect(scan.source.warnings.map((w) => w.code)).toEqual(['units-assumed']);
  });

  it("is read as three's loader reads it", async () => {
    const theirs = new PCDLoader().parse(bytes.slice().buffer as ArrayBuffer).geometry.getAttribute('position');
    expect([...(await readScan(bytes)).positions]).toEqual([...theirs.array]);
  });

  it('may come in pieces of any size', async () => {
    const { source: _, ...whole } = await readScan(bytes);
    for (const size of [1, 7, 1000]) {
      const { source: __, ...scan } = await readScan(inPieces(bytes, size));
      expect(scan).toEqual(whole);
    }
  });

  it('ends early: refused, or taken as far as it goes', async () => {
    const cut = bytes.subarray(0, bytes.length - 20);
    await expect(readScan(cut)).rejects.toMatchObject({ name: 'FettleError' });
    if (data === 'binary_compressed') return;
    const { positions: kept, source } = await readScan(cut, { keepWhole: true });
    expect([...kept]).toEqual(positions.slice(0, kept.length));
    expect(kept.length).toBeGreaterThan(3 * (N - 10));
    expect(source.warnings.map((w) => w.code)).toContain('cut-short');
  });
});

it('a unit in a comment is the unit', async () => {
  const { positions: p, source } = await readScan(pcd(columns, 'binary', '# units: m\n'));
  expect(source).toMatchObject({ unit: 'm', unitFrom: 'file' });
  expect(p[3]).toBe(250);
});

it('colors packed into a floating number', async () => {
  const color = new Float32Array(Uint32Array.of(0x0a141e).buffer)[0]!;
  const some = [
    column('x', 'F8', (i) => i),
    column('y', 'F8', () => 0),
    column('z', 'F8', () => 0),
    column('rgb', 'F4', () => color),
  ];
  expect([...(await readScan(pcd(some, 'ascii'))).colors!.subarray(0, 3)]).toEqual([10, 20, 30]);
});

it('points that are none are dropped', async () => {
  const some = columns.map((c) =>
    c.name === 'y' ? { ...c, values: c.values.map((v, i) => (i === 5 ? Number.NaN : v)) } : c,
  );
  for (const data of ['ascii', 'binary', 'binary_compressed'] as const)
    expect((await readScan(pcd(some, data))).positions.length).toBe(3 * (N - 1));
});

describe('a bad PCD file is refused in words', () => {
  const good =
    'VERSION 0.7\nFIELDS x y z\nSIZE 4 4 4\nTYPE F F F\nCOUNT 1 1 1\nWIDTH 1\nHEIGHT 1\nPOINTS 1\nDATA ascii\n1 2 3\n';
  it.each([
    ['no coordinates', good.replace('x y z', 'x y depth'), 'no-coordinates', /no fields x, y and z, only: x, y, depth/],
    ['an unknown type', good.replace('F F F', 'F F Q'), 'bad-header', /field 'z' is of type 'Q' and size 4/],
    ['types that are too few', good.replace('F F F', 'F F'), 'bad-header', /SIZE, TYPE or COUNT have not 3 entries/],
    ['an unknown kind of data', good.replace('ascii', 'zipped'), 'bad-header', /line 9: unknown data 'zipped'/],
    ['counts that differ', good.replace('POINTS 1', 'POINTS 2'), 'bad-header', /WIDTH times HEIGHT is not 2/],
    ['a word for a number', good.replace('1 2 3', '1 O 3'), 'bad-number', /line 10: holds 'O' where a number belongs/],
    ['a row too long', good.replace('1 2 3', '1 2 3 4'), 'wrong-count', /line 10: has 4 values, its header asks for 3/],
    ['more rows than it counts', `${good}4 5 6\n`, 'wrong-count', /behind the 1 point its header counts/],
    ['no data', 'VERSION 0.7\nFIELDS x y z\n', 'bad-header', /no 'DATA' line/],
  ])('%s', async (_, text, code, message) => {
    await expect(readScan(file(text))).rejects.toMatchObject({ code, message: expect.stringMatching(message) });
  });

  it('compressed data that do not unpack, or could not be so many', async () => {
    const bytes = pcd(columns, 'binary_compressed');
    const at = new TextDecoder('latin1').decode(bytes).indexOf('DATA binary_compressed\n') + 23;
    const damaged = bytes.slice();
    damaged[at + 8] = 255;
    await expect(readScan(damaged)).rejects.toMatchObject({ code: 'bad-compression' });
    const text = new TextDecoder('latin1').decode(bytes).replaceAll(` ${N}\n`, ' 999999999\n');
    await expect(readScan(Uint8Array.from(text, (c) => c.charCodeAt(0)))).rejects.toMatchObject({
      code: 'bad-compression',
    });
  });
});
